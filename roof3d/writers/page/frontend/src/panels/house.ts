// The house in numbers: what is picked, every plane, every edge.
import type { App } from "../app";
import type { MeasuredEdge, MeasuredPlane, MeasuredScupper } from "../data";
import { button, el, facts, table } from "../dom";
import { capital, spoken, titled } from "../names";
import { stroke } from "../paint";
import { area, compass, length, pitch, pitched, squares } from "../units";

const ROLES = ["transition", "valley", "ridge", "hip", "eave", "rake", "high_edge", "parapet", "headwall", "sidewall", "pitch_break"];

export function housePanel(app: App): Node[] {
  const { measure } = app.variant();
  const { units } = app.store.state;
  const total = measure.totals;
  const size = (key: string): string => area(total[key] ?? 0, units);
  const sum: [string, string][] = [
    ["True roof area", `${size("area_m2")}${units === "imperial" ? ` · ${squares(total["area_m2"] ?? 0)}` : ""}`],
    ["Nearly flat", total["low_area_m2"] ? size("low_area_m2") : "none"],
    ["Steep", total["steep_area_m2"] ? size("steep_area_m2") : "none"],
  ];
  return [
    picked(app),
    el("section", {}, el("h2", {}, "This roof"), facts(sum)),
    el("section", {},
      el("h2", {}, "Planes"),
      el("ul", { class: "list" }, ...measure.planes.map((plane) => el("li", {}, planeButton(app, plane))))),
    el("section", {},
      el("h2", {}, "Edges"),
      ...ROLES.map((role) => edgesOf(app, role, measure.edges.filter((edge) => roleOf(edge) === role))).filter((x) => x !== null)),
    measure.openings.length + measure.scuppers.length
      ? el("section", {}, el("h2", {}, "Through the roof and its walls"),
        el("ul", { class: "list" }, ...measure.openings.map((opening) => el("li", {},
          chooser(app, opening.id, capital(app.data.kinds[opening.kind]?.name ?? opening.kind), ""))),
          ...measure.scuppers.map((scupper) => el("li", {}, chooser(app, scupper.id, capital(outlet(app, scupper)), "")))))
      : el("span"),
  ];
}

/** A wall of the roof's own round it is a parapet, whichever way it runs. */
export const roleOf = (edge: MeasuredEdge): string => (edge.parapet ? "parapet" : edge.role);

function outlet(app: App, scupper: MeasuredScupper): string {
  const name = app.data.kinds["scupper"]?.name ?? "scupper";
  return scupper.overflow ? `overflow ${name}` : name;
}

/** A row to tap: what it is, its facts, and its id in small letters. */
function chooser(app: App, id: string, main: string, more: string, mark?: Node): HTMLElement {
  const made = button("", () => app.pick(id), { class: "row", "aria-pressed": String(app.store.state.picked === id), "data-pick": id });
  made.append(...(mark ? [mark] : []), el("b", {}, main), el("span", {}, more ? el("small", {}, `${id} · `) : el("small", {}, id), more));
  return made;
}

function planeButton(app: App, plane: MeasuredPlane): HTMLElement {
  const { units } = app.store.state;
  return chooser(app, plane.id, titled(app.data, plane.id),
    `${app.data.kinds[plane.kind]?.name ?? plane.kind}, ${pitch(plane.pitch, plane.slope_deg, units)}, ${area(plane.area_m2, units)}`,
    el("i", { class: `mark ${plane.kind}`, "aria-hidden": "true" }));
}

/** An edge by the planes it bounds; its role stands over the list. */
const edgeOn = (app: App, edge: MeasuredEdge): string => edge.planes.map((id) => titled(app.data, id)).join(" / ");

function edgesOf(app: App, role: string, edges: MeasuredEdge[]): HTMLElement | null {
  if (!edges.length) return null;
  const { units } = app.store.state;
  const whole = edges.reduce((sum, edge) => sum + edge.length_m, 0);
  const named = app.data.roles[role];
  const key = el("i", { class: "mark line", "aria-hidden": "true" });
  key.style.setProperty("--ink", stroke(role).colour);
  key.classList.toggle("dashed", stroke(role).dash > 0);
  return el("details", { class: "fold", open: edges.some((edge) => edge.id === app.store.state.picked) },
    el("summary", {}, key, el("b", {}, capital(named?.name ?? role)), el("span", {}, `${length(whole, units)} in ${edges.length}`)),
    el("p", {}, named?.meaning ?? ""),
    el("ul", { class: "list" }, ...edges.map((edge) => el("li", {}, chooser(app, edge.id, edgeOn(app, edge), length(edge.length_m, units))))));
}

function picked(app: App): HTMLElement {
  const { picked: id, units } = app.store.state;
  const card = (title: string, ...body: Node[]): HTMLElement =>
    el("section", { class: "card", id: "card", "aria-live": "polite" }, el("h2", {}, title), ...body);
  const { measure, assemblies } = app.variant();
  const plane = measure.planes.find((known) => known.id === id);
  if (plane) {
    const carried = assemblies.find((known) => known.plane === id);
    return card(titled(app.data, plane.id),
      el("p", {}, app.data.kinds[plane.kind]?.meaning ?? ""),
      facts([
        ["Pitch", pitch(plane.pitch, plane.slope_deg, units)],
        ["True area", area(plane.area_m2, units)],
        ["Falls to", compass(plane.azimuth_deg)],
        ["Carries", carried?.name ?? plane.assembly],
        ["Because", pitched(carried?.why ?? "", units)],
        ["In the tables", plane.id],
      ]),
      table("Layers, from the wood up", ["Layer", "What it is for"], (carried?.layers ?? []).map((layer, at) => [
        `${at + 1} ${layer.name}`, layer.purpose,
      ])),
      places(app, id));
  }
  const edge = measure.edges.find((known) => known.id === id);
  if (edge) {
    const named = app.data.roles[roleOf(edge)];
    return card(capital(named?.name ?? edge.role),
      el("p", {}, named?.meaning ?? ""),
      facts([
        ["True length", length(edge.length_m, units)],
        ["Length in plan", length(edge.plan_length_m, units)],
        [edge.planes.length > 1 ? "Between" : "On", spoken(app.data, edge.planes)],
        ...(edge.parapet ? [
          ["Height above roof", length(edge.parapet.height_m, units)], ["Thickness", length(edge.parapet.thickness_m, units)],
          ["Coping", length(edge.parapet.coping_m, units)],
        ] as [string, string][] : []),
        ["In the tables", edge.id],
      ]),
      places(app, id));
  }
  const opening = measure.openings.find((known) => known.id === id);
  if (opening) {
    const named = app.data.kinds[opening.kind];
    return card(capital(named?.name ?? opening.kind), el("p", {}, named?.meaning ?? ""),
      facts([["On", spoken(app.data, opening.planes)], ["Around it", length(opening.perimeter_m, units)], ["In the tables", opening.id]]),
      places(app, id));
  }
  const scupper = measure.scuppers.find((known) => known.id === id);
  if (scupper) {
    return card(capital(outlet(app, scupper)), el("p", {}, app.data.kinds["scupper"]?.meaning ?? ""),
      scupper.overflow ? el("p", {}, "This one takes water only when the other ways out are clogged.") : el("span"),
      facts([
        ["Width", length(scupper.width_m, units)], ["Height", length(scupper.height_m, units)],
        ["Sill above the roof", length(scupper.sill_m, units)], ["Lets water off", spoken(app.data, [scupper.plane])], ["In the tables", scupper.id],
      ]),
      places(app, id));
  }
  return card("Tap the roof", el("p", {}, app.drawn
    ? "Tap a plane, an edge or a pipe to see what it is, how long or large it truly is, and why it is built so. Drag to turn, pinch or scroll to come closer."
    : "Choose a plane or an edge below to see what it is and how it is built."));
}

/** Buttons to the joints drawn for what is picked. */
function places(app: App, id: string): HTMLElement {
  const found = app.data.places.filter((place) => place.at.some((spot) =>
    spot.edge === id || spot.opening === id || (!spot.edge && !spot.opening && spot.planes.includes(id))));
  return el("p", { class: "ways" }, ...found.map((place) => button(`See the layers: ${place.title}`, () => app.open(place.id), { class: "strong" })));
}
