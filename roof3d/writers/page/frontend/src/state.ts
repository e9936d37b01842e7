// What is shown, kept in the address fragment so that a link leads back to it.
import type { PageData, Units } from "./data";

export type Panel = "house" | "places" | "whatif" | "colours" | "measure" | "words";
export const PANELS: Panel[] = ["house", "places", "whatif", "colours", "measure", "words"];

export interface Eye { azimuth: number; elevation: number; distance: number; target: [number, number, number] }

export interface State {
  panel: Panel;
  units: Units;
  variant: string;
  picked: string; // id of a plane, edge or opening; "" for none
  place: string; // id of a joint; "" for the house
  lift: number; // metres a layer
  step: number; // layers up to this number are laid; 0 for all
  hidden: number[]; // layers switched off
  sizes: boolean; // dimensions shown
  wrong: string; // name of a wrong build shown; "" for none
  shingle: string; granule: string; metal: string; hip: string;
  eye: Eye | null; // null: the place's or house's own view
  view: string;
}

type Listener = (state: State, before: State) => void;

export class Store {
  private listeners: Listener[] = [];
  /** The fragment as it was last read or written here. */
  private known = location.hash;
  constructor(public state: State, private readonly first: State) {}

  on(listener: Listener): void { this.listeners.push(listener); }

  set(change: Partial<State>): void {
    const before = this.state;
    this.state = { ...before, ...change };
    for (const listener of this.listeners) listener(this.state, before);
    this.write();
  }

  /** The fragment holds only what differs from how the page opens. */
  fragment(): string {
    const found = new URLSearchParams();
    for (const key of Object.keys(this.first) as (keyof State)[]) {
      const value = packed(this.state[key]);
      if (value !== packed(this.first[key])) found.set(key, value);
    }
    return found.toString();
  }

  /** Take what a followed link tells; whether it tells anything else than what is shown. */
  follow(data: PageData): boolean {
    this.known = location.hash;
    const fragment = location.hash.slice(1);
    if (fragment === this.fragment()) return false;
    this.state = readFragment(fragment, this.first, data);
    return true;
  }

  private write(): void {
    if (location.hash !== this.known) return; // a link was followed: it is read in a moment, and holds
    const fragment = this.fragment();
    if (fragment === location.hash.slice(1)) return;
    try {
      history.replaceState(null, "", fragment ? `#${fragment}` : location.pathname + location.search);
      this.known = location.hash;
    } catch { /* some readers forbid it on local files: the page works without */ }
  }
}

export function firstState(data: PageData): State {
  const colour = (group: string): string => data.colours.groups.find((g) => g.id === group)?.swatches[0]?.id ?? "";
  const shingle = colour("shingle");
  const best = (group: string): string =>
    data.colours.matches[shingle]?.find((match) => match.group === group)?.swatch ?? colour(group);
  // At first the flat part is clearly another tone, so that the two roofs are told apart at a glance.
  const other = (group: string): string =>
    data.colours.matches[shingle]?.find((match) => match.group === group && match.difference >= 30)?.swatch ?? best(group);
  return {
    panel: "house", units: data.units, variant: data.variants[0]?.id ?? "", picked: "", place: "",
    lift: 0.25, step: 0, hidden: [], sizes: false, wrong: "",
    shingle, granule: other("granule"), metal: best("metal"), hip: best("hip"),
    eye: null, view: data.views[0]?.id ?? "",
  };
}

/** Read a fragment; what is not known here is left as it was. */
export function readFragment(fragment: string, first: State, data: PageData): State {
  const found = new URLSearchParams(fragment);
  const state: State = { ...first };
  const text = (key: keyof State, allowed: string[]): void => {
    const value = found.get(key);
    if (value !== null && allowed.includes(value)) (state as unknown as Record<string, unknown>)[key] = value;
  };
  text("panel", PANELS);
  text("units", ["imperial", "metric"]);
  text("variant", data.variants.map((variant) => variant.id));
  const measured = data.variants[0]?.measure;
  text("picked", [...(measured?.planes ?? []), ...(measured?.edges ?? []), ...(measured?.openings ?? []), ...(measured?.scuppers ?? [])].map((x) => x.id));
  text("place", data.places.map((place) => place.id));
  text("view", data.views.map((view) => view.id));
  for (const group of data.colours.groups) text(group.id, group.swatches.map((swatch) => swatch.id));
  const lift = Number(found.get("lift"));
  if (found.has("lift") && lift >= 0 && lift <= 1) state.lift = lift;
  const place = data.places.find((p) => p.id === state.place);
  const numbers = place?.layers.map((layer) => layer.number) ?? [];
  const step = Number(found.get("step"));
  if (numbers.includes(step)) state.step = step;
  state.hidden = (found.get("hidden") ?? "").split(",").map(Number).filter((n) => numbers.includes(n));
  state.sizes = found.get("sizes") === "true";
  const wrong = found.get("wrong") ?? "";
  if (place?.wrong.some((w) => w.name === wrong)) state.wrong = wrong;
  const eye = (found.get("eye") ?? "").split(",").map(Number);
  const [azimuth, elevation, distance, x, y, z] = eye;
  if (eye.length === 6 && eye.every(Number.isFinite) && (distance ?? 0) > 0) {
    state.eye = {
      azimuth: azimuth ?? 0, elevation: elevation ?? 0, distance: distance ?? 1, target: [x ?? 0, y ?? 0, z ?? 0],
    };
  }
  return state;
}

function packed(value: State[keyof State]): string {
  if (value === null) return "";
  if (Array.isArray(value)) return value.join(",");
  if (typeof value === "object") {
    return [value.azimuth, value.elevation, value.distance, ...value.target].map((n) => Number(n.toFixed(3))).join(",");
  }
  return String(value);
}
