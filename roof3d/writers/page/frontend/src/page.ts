// The page: draws what it was given, and answers taps and keys.
import type { Vector3 } from "three";
import type { App } from "./app";
import type { PageData, Place, Variant } from "./data";
import { button, el, fill, svg } from "./dom";
import { Eyes } from "./eye";
import { drawTags, setTags, type Tag } from "./labels";
import { follow } from "./live";
import { coloursPanel } from "./panels/colours";
import { housePanel } from "./panels/house";
import { measurePanel } from "./panels/measure";
import { placesPanel, stop } from "./panels/places";
import { whatIfPanel } from "./panels/whatif";
import { wordsPanel } from "./panels/words";
import { told } from "./names";
import { fillPrint, pictured } from "./print";
import { type Eye, firstState, PANELS, type Panel, readFragment, Store } from "./state";
import { Tape } from "./tape";
import { World } from "./world";

const TITLES: Record<Panel, string> = {
  house: "House", places: "Places", whatif: "What if", colours: "Colours", measure: "Measure", words: "Words",
};
const FILLS: Record<Panel, (app: App) => Node[]> = {
  house: housePanel, places: placesPanel, whatif: whatIfPanel, colours: coloursPanel, measure: measurePanel, words: wordsPanel,
};

export function start(data: PageData): void {
const first = firstState(data);
const store = new Store(readFragment(location.hash.slice(1), first, data), first);
const tape = new Tape();
let world: World | null = null;
let eyes: Eyes | null = null;
let tags: Tag[] = [];

const variant = (): Variant => {
  const found = data.variants.find((known) => known.id === store.state.variant) ?? data.variants[0];
  if (!found) throw new Error("the page holds no roof");
  return found;
};
const place = (): Place | undefined => data.places.find((known) => known.id === store.state.place);

const app: App = {
  data, store, tape, drawn: true, variant, place,
  pick: (id) => {
    store.set({ picked: store.state.picked === id ? "" : id, panel: "house", place: "" });
    if (store.state.picked) reveal();
  },
  open: (id) => {
    stop();
    store.set({ place: id, panel: "places", step: 0, hidden: [], wrong: "", picked: "", eye: null });
    document.getElementById(id ? "back" : "tab-places")?.focus();
  },
  tones: () => world?.tonesOf(store.state.place, store.state) ?? new Map(),
  redraw: () => refresh(),
  announce: (words) => { spoken.textContent = words; },
};

// ---- the frame of the page
const canvas = el("canvas", {
  id: "view", tabindex: 0, role: "application",
  "aria-label": "The roof in three dimensions. Arrow keys turn it, with shift they move it, plus and minus come closer and step back, Home shows it as at first, Escape goes back to the house. The lists beside it hold the same facts.",
});
const overlay = svg("svg", { id: "labels", "aria-hidden": "true" });
const north = svg("svg", { id: "north", viewBox: "-20 -27 40 46", "aria-hidden": "true" });
const needle = svg("g", {}, svg("path", { d: "M0,-15 L6,12 L0,7 L-6,12 Z" }));
const letter = svg("text", { y: -17, "text-anchor": "middle" });
letter.textContent = "N";
north.append(needle, letter);
const spoken = el("p", { class: "unseen", role: "status" });
const panel = el("div", { id: "panel", role: "tabpanel", tabindex: -1 });
const paper = el("div", { id: "paper" });
const viewChoice = el("select", { id: "view-choice", "aria-label": "Where to look from", change: () => stand(viewChoice.value) });
const unitChoice = el("select", {
  id: "units", "aria-label": "Units", change: () => store.set({ units: unitChoice.value === "metric" ? "metric" : "imperial" }),
}, el("option", { value: "imperial" }, "feet and inches"), el("option", { value: "metric" }, "metres"));
const tabs = el("div", { id: "tabs", role: "tablist", "aria-label": "What to show" }, ...PANELS.map((name) => button(TITLES[name], () => {
  store.set({ panel: name, ...(name === "places" || name === "words" ? {} : { place: "" }) });
}, { role: "tab", id: `tab-${name}`, "aria-controls": "panel", keydown: (event) => turnTabs(event as KeyboardEvent) })));
const message = el("div", { id: "message", role: "alert" });
const stage = el("div", { id: "stage" }, canvas, overlay as unknown as HTMLElement, north as unknown as HTMLElement,
  el("div", { id: "tools", role: "group", "aria-label": "View" }, viewChoice,
    button("+", () => { eyes?.zoom(0.8); handled(); }, { "aria-label": "Come closer", id: "closer" }),
    button("−", () => { eyes?.zoom(1.25); handled(); }, { "aria-label": "Step back", id: "farther" })));
fill(document.getElementById("page") ?? document.body,
  el("header", {},
    el("h1", {}, data.model),
    el("div", { class: "ways" }, unitChoice,
      button("Print", () => window.print(), { id: "print" }),
      button("Picture", () => savePicture(), { id: "save", "aria-label": "Save picture" }),
      button("Link", () => copyLink(), { id: "link", "aria-label": "Copy link" }))),
  message,
  el("main", {}, stage, el("div", { id: "side" }, tabs, panel)),
  spoken, paper);

function turnTabs(event: KeyboardEvent): void {
  const at = PANELS.indexOf(store.state.panel);
  const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: PANELS.length - 1 }[event.key];
  if (to === undefined) return;
  event.preventDefault();
  const name = PANELS[(to + PANELS.length) % PANELS.length] ?? "house";
  store.set({ panel: name, ...(name === "places" || name === "words" ? {} : { place: "" }) });
  document.getElementById(`tab-${name}`)?.focus();
}

// ---- what changes with the state
function refresh(): void {
  const { state } = store;
  for (const name of PANELS) {
    const tab = document.getElementById(`tab-${name}`);
    tab?.setAttribute("aria-selected", String(state.panel === name));
    tab?.setAttribute("tabindex", state.panel === name ? "0" : "-1");
  }
  panel.setAttribute("aria-labelledby", `tab-${state.panel}`);
  document.body.dataset["panel"] = state.panel;
  const kept = keptFocus();
  fill(panel, ...FILLS[state.panel](app));
  kept();
  unitChoice.value = state.units;
  const views = data.views.map((view) => view.name).join("\n");
  if (viewChoice.dataset["names"] !== views) { // the house of a served page may have turned
    viewChoice.dataset["names"] = views;
    fill(viewChoice, ...data.views.map((view) => el("option", { value: view.id }, view.name)));
  }
  viewChoice.value = state.view;
  label();
  world?.render(label);
}

/** The panel is made anew at each change: the focus goes back to where it was. */
function keptFocus(): () => void {
  const old = document.activeElement;
  if (!(old instanceof HTMLElement) || !panel.contains(old)) return () => undefined;
  const keys = ["id", "data-pick", "data-place", "data-layer", "data-wrong", "aria-label"] as const;
  const found = keys.map((key) => [key, old.getAttribute(key)] as const).find(([, value]) => value);
  const radio = old instanceof HTMLInputElement && old.type === "radio" ? [old.name, old.value] : null;
  const scrolled = panel.scrollTop;
  return () => {
    panel.scrollTop = scrolled;
    const all = [...panel.querySelectorAll<HTMLElement>("button, input, summary, select")];
    const again = radio
      ? all.find((x) => x instanceof HTMLInputElement && x.name === radio[0] && x.value === radio[1])
      : found && all.find((x) => x.getAttribute(found[0]) === found[1]);
    if (again) again.focus({ preventScroll: true });
  };
}

function label(): void {
  if (!world) return;
  const drawnTape = store.state.panel === "measure" ? tape.tags(world, store.state.units) : [];
  tags = setTags(world, data, variant(), store.state, drawnTape);
  drawTags(overlay, tags, canvas.clientWidth, canvas.clientHeight);
  north.style.display = store.state.place && canvas.clientWidth < 560 ? "none" : "";
  if (eyes) needle.setAttribute("transform", `rotate(${-(eyes.now().azimuth + 180)})`);
}

store.on((state, before) => {
  if (state.place !== before.place) goTo();
  if (state.variant !== before.variant) {
    app.announce(told(data, variant().title, state.units));
    if (variant().water.length && !state.place) flyTo(leak);
  }
  void world?.show(state, variant());
  const only = Object.keys(state).filter((key) => JSON.stringify(state[key as keyof typeof state]) !== JSON.stringify(before[key as keyof typeof before]));
  if (only.length === 1 && only[0] === "eye") return;
  if (only.length === 1 && only[0] === "lift") { world?.render(label); return; }
  refresh();
  if (state.panel !== before.panel || state.place !== before.place) panel.scrollTop = 0;
});

// ---- standing somewhere
type Framing = (eyes: Eyes) => Eye;
/** How the picture is framed until a hand moves it: kept when the window or the panel changes size. */
let framed: Framing | null = null;

const fromView: Framing = (eyes) => {
  const view = data.views.find((known) => known.id === store.state.view) ?? data.views[0];
  return eyes.framing(store.state.place, view?.azimuth_deg ?? 180, view?.elevation_deg ?? 20);
};
const whole: Framing = (eyes) => {
  const joint = place();
  return joint ? eyes.framing(joint.id, joint.toward, 32) : fromView(eyes);
};
/** Looking down on the planes that leak, from where the first of them falls to. */
const leak: Framing = (eyes) => {
  const leaks = variant().water.map((path) => path.plane);
  const plane = variant().measure.planes.find((known) => known.id === leaks[0]);
  return eyes.framing("", (plane?.azimuth_deg ?? data.views[0]?.azimuth_deg ?? 180) + 20, 34, leaks);
};
/** What a link leads to that tells no eye of its own. */
const meant = (): Framing => (variant().water.length && !store.state.place ? leak : whole);

function flyTo(framing: Framing): void {
  if (!eyes || place()?.waits) return;
  framed = framing;
  eyes.fly(framing(eyes), () => { world?.render(label); rested(); });
}

/** Frame anew what has changed its size; false where a hand has moved the eye. */
function reframe(): boolean {
  if (!eyes || !framed || eyes.turning) return false;
  eyes.set(framed(eyes));
  if (store.state.eye) rested();
  return true;
}

function goTo(): void {
  if (place()?.waits) return;
  void world?.show(store.state, variant());
  flyTo(whole);
}

function stand(id: string): void {
  store.set({ view: id, eye: null });
  flyTo(fromView);
}

/** A hand has moved the eye, or only tapped. */
function handled(): void {
  const [meant = [], now = []] = eyes && framed
    ? [framed(eyes), eyes.now()].map((eye) => [eye.azimuth % 360, eye.elevation, eye.distance, ...eye.target]) : [];
  if (meant.some((value, k) => Math.abs(value - (now[k] ?? 0)) > 0.02)) framed = null;
  rested();
}

let resting = 0;
function rested(): void {
  clearTimeout(resting);
  resting = window.setTimeout(() => {
    sharp(true);
    world?.settle();
    if (eyes) store.set({ eye: eyes.now() });
    world?.render(label);
  }, 160);
}

// ---- sharpness gives way while a slow machine turns the house
let ratio = Math.min(devicePixelRatio || 1, 2);
function sharp(still: boolean): void {
  if (!world || (!still && !eyes?.turning)) return;
  const full = Math.min(devicePixelRatio || 1, 2);
  const wanted = still || world.lastFrame < 60 ? full : Math.max(0.5, full / 2);
  if (wanted === ratio) return;
  ratio = wanted;
  world.resize(canvas.clientWidth, canvas.clientHeight, ratio);
}

// ---- taps
let down: { x: number; y: number; touch: boolean; id: number } | null = null;
canvas.addEventListener("pointerdown", (event) => { down = { x: event.clientX, y: event.clientY, touch: event.pointerType !== "mouse", id: event.pointerId }; });
canvas.addEventListener("pointerup", (event) => {
  if (!down || !world || event.pointerId !== down.id || Math.hypot(event.clientX - down.x, event.clientY - down.y) > 6) return;
  const box = canvas.getBoundingClientRect();
  tap(event.clientX - box.left, event.clientY - box.top, down.touch ? 20 : 9);
});
canvas.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && store.state.place) { app.open(""); canvas.focus(); }
  if (event.key === "Home") { store.set({ eye: null }); goTo(); }
});

function tap(x: number, y: number, near: number): void {
  if (!world) return;
  const { state } = store;
  const hit = world.hit(x, y, state.panel === "measure" ? -1 : near, state, variant());
  if (state.panel === "measure" && !state.place) {
    if (!hit) return;
    tape.add(corner(hit.point), hit.kind === "plane" ? hit.id : "");
    app.announce(tape.words(state.units).map(([name, value]) => `${name} ${value}`).join(", ") || tape.says || "Tap on.");
    refresh();
    return;
  }
  if (!hit || hit.kind === "other") { store.set({ picked: "" }); return; }
  if (hit.kind === "layer") { store.set({ picked: hit.id, panel: "places" }); reveal(); return; }
  store.set({ picked: hit.id, panel: "house" });
  reveal();
}

function reveal(): void {
  document.getElementById("card")?.scrollIntoView({ block: store.state.panel === "house" ? "start" : "nearest" });
}

/** A tap near a corner of the roof means the corner. */
function corner(point: Vector3): Vector3 {
  if (!world) return point;
  const here = world.pixel(point);
  let best: { at: Vector3; away: number } | null = null;
  for (const plane of variant().measure.planes) {
    for (const spot of [plane.outline, ...plane.holes].flat()) {
      const at = world.at(spot);
      const pixel = world.pixel(at);
      if (!here || !pixel) continue;
      const away = Math.hypot(pixel[0] - here[0], pixel[1] - here[1]);
      if (away < 14 && at.distanceTo(point) < 2 && (!best || away < best.away)) best = { at, away };
    }
  }
  return best ? best.at : point;
}

// ---- keeping and sharing
function savePicture(): void {
  if (!world) return;
  pictured(world, tags, 2).toBlob((blob) => {
    if (!blob) return;
    const link = el("a", { href: URL.createObjectURL(blob), download: `${data.model.replace(/[^\w -]+/g, "").trim() || "roof"}.png` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
    app.announce("Picture saved.");
  });
}

function copyLink(): void {
  const text = location.href;
  const done = (): void => { app.announce("Link copied: it opens this file at this view."); };
  navigator.clipboard?.writeText(text).then(done, () => { window.prompt("Copy this link:", text); }) ?? window.prompt("Copy this link:", text);
}

addEventListener("beforeprint", () => fillPrint(paper, app, world ? pictured(world, tags, 2) : null));

const live = (): void => follow({ app, world, eyes, message, frame: goTo, reframe });

// ---- begin
async function begin(): Promise<void> {
  refresh();
  try {
    world = new World(data, canvas);
  } catch {
    app.drawn = false;
    document.body.dataset["state"] = "no-picture";
    stage.hidden = true;
    message.textContent = "This device cannot draw in three dimensions. All numbers are in the lists below.";
    refresh();
    live();
    return;
  }
  await world.load(document.getElementById("meshes")?.textContent ?? "");
  document.getElementById("meshes")?.remove();
  eyes = new Eyes(world, () => { sharp(false); label(); }, handled);
  const fit = (): void => {
    world?.resize(canvas.clientWidth, canvas.clientHeight, ratio);
    reframe();
    world?.render(label);
  };
  fit();
  await world.show(store.state, variant());
  if (store.state.eye) eyes.set(store.state.eye);
  else eyes.set((framed = meant())(eyes));
  new ResizeObserver(fit).observe(stage);
  refresh();
  sharp(true);
  world.render(() => { label(); document.body.dataset["state"] = "ready"; });
  live();
}

addEventListener("hashchange", () => {
  clearTimeout(resting); // the eye that came to rest is not the one that the link means
  if (!store.follow(data)) return;
  stop();
  void world?.show(store.state, variant());
  if (store.state.eye) { framed = null; eyes?.set(store.state.eye); } else flyTo(meant());
  refresh();
});
void begin();
}
