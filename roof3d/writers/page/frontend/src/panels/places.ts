// The joints of this roof, and one of them in layers, step by step.
import type { App } from "../app";
import type { Place, PlaceLayer, WrongBuild } from "../data";
import { button, el, facts, fill } from "../dom";
import { told, unturned } from "../names";
import { pitched, small } from "../units";

export function placesPanel(app: App): Node[] {
  const place = app.place();
  return place ? onePlace(app, place) : allPlaces(app);
}

function allPlaces(app: App): Node[] {
  return [el("section", {},
    el("h2", {}, "Places where roofs leak"),
    el("p", {}, "Every joint of this roof, taken apart in layers.",
      app.data.places[0]?.kind.startsWith("low-") ? " The meeting of low and steep comes first: it is the one that matters most." : null),
    el("ul", { class: "list" }, ...app.data.places.map((place) => {
      const made = button("", () => app.open(place.id), { class: "row", "data-place": place.id });
      const spots = place.at.length === 1 ? told(app.data, place.at[0]?.words ?? "", app.store.state.units) : `at ${place.at.length} places`;
      made.append(el("b", {}, place.title), el("span", {}, `${place.waits ? "being drawn" : pitched(place.summary, app.store.state.units)} · ${spots}`));
      return el("li", {}, made);
    })))];
}

function onePlace(app: App, place: Place): Node[] {
  const { state } = app.store;
  if (place.waits) {
    return [el("section", {}, button("‹ Back to the house", () => app.open(""), { class: "back", id: "back" }), el("h2", {}, place.title),
      el("p", { role: "status" }, "This joint is being drawn for the roof as it is now; it follows in a moment."))];
  }
  const wrong = place.wrong.find((known) => known.name === state.wrong);
  const nodes: Node[] = [
    el("section", {},
      button("‹ Back to the house", () => app.open(""), { class: "back", id: "back" }),
      el("h2", {}, place.title),
      el("p", {}, `${pitched(place.summary, state.units)}. ${thickness(place)}`)),
  ];
  const note = unturned(app.data, state.units);
  if (note) nodes.push(el("p", {}, el("small", {}, note)));
  if (app.drawn) nodes.push(controls(app, place));
  nodes.push(stepCard(app, place));
  if (place.wrong.length) {
    nodes.push(el("section", {}, el("h2", {}, "What goes wrong here"),
      el("p", {}, "Tap a mistake to see this joint built wrong, and the way the water takes then."),
      el("ul", { class: "list" }, ...place.wrong.map((known) => el("li", {}, mistake(app, known)))),
      wrong ? el("div", { class: "card warn", role: "status" },
        el("p", {}, el("b", {}, "Wrong: "), wrong.wrong), el("p", {}, el("b", {}, "The water: "), wrong.water),
        el("p", {}, el("b", {}, "The cost: "), wrong.cost), el("p", {}, el("b", {}, "Seen in time: "), wrong.see),
        app.drawn ? el("p", {}, "The picture is now built wrong on purpose; the blue line is the way of the water. Tap the mistake again for the right build.") : null,
        wrong.source ? el("p", {}, el("small", {}, `Source: ${wrong.source}`)) : null) : null));
  }
  if (place.wrong_waits) nodes.push(el("section", {}, el("p", { role: "status" }, "Wrong builds of this joint are still being drawn; they follow in a moment.")));
  nodes.push(layerList(app, place));
  nodes.push(el("section", {}, el("h2", {}, "Where on this roof"),
    el("ul", {}, ...place.at.map((spot) => el("li", {}, told(app.data, spot.words, state.units), " ", el("small", {}, spot.id))))));
  if (place.notes.length) nodes.push(el("section", {}, el("h2", {}, "Good to know"), el("ul", {}, ...place.notes.map((note) => el("li", {}, pitched(note, state.units))))));
  nodes.push(el("section", { class: "caution" }, ...place.cautions.map((line) => el("p", {}, line))));
  return nodes;
}

/** What was done wrong in plain words, the trade's word under them. */
function mistake(app: App, known: WrongBuild): HTMLElement {
  const shown = app.store.state.wrong === known.name;
  const made = button("", () => app.store.set({ wrong: shown ? "" : known.name }), {
    class: "row", "aria-pressed": String(shown), "data-wrong": known.name,
  });
  made.append(el("b", {}, known.wrong.replace(/\.$/, "")), el("span", {}, known.title));
  return made;
}

function thickness(place: Place): string {
  const [factor] = place.thickness;
  return factor > 1 ? `Lengths are true; sheets are drawn ${factor} times as thick, so that they can be seen.` : "";
}

function controls(app: App, place: Place): HTMLElement {
  const { state } = app.store;
  const slider = el("input", {
    type: "range", id: "lift", min: 0, max: 0.6, step: 0.01, value: state.lift,
    input: (event) => app.store.set({ lift: Number((event.target as HTMLInputElement).value) }),
  });
  const last = place.layers.length;
  const at = state.step === 0 ? last : place.layers.findIndex((layer) => layer.number === state.step) + 1;
  const go = (to: number): void => {
    const layer = place.layers[Math.min(Math.max(to, 1), last) - 1];
    if (!layer) return;
    app.store.set({ step: to >= last + 1 ? 0 : layer.number });
    app.announce(`Step ${Math.min(Math.max(to, 1), last)} of ${last}: ${layer.name}`);
  };
  const playing = player.timer !== 0;
  return el("section", { class: "controls" },
    el("label", { for: "lift" }, "Lift the layers apart"), slider,
    el("div", { class: "player", role: "group", "aria-label": "Step by step" },
      button("Back", () => { stop(); go(at - 1); }, { id: "step-back", disabled: at <= 1 }),
      button(playing ? "Pause" : "Play", () => (playing ? (stop(), app.redraw()) : play(app, place)), { id: "step-play", class: "strong" }),
      button("Next", () => { stop(); go(at + 1); }, { id: "step-next", disabled: state.step === 0 }),
      el("span", { id: "step-words" }, state.step === 0 ? `all ${last} layers` : `${at} of ${last}`)),
    el("label", { class: "tick" },
      el("input", { type: "checkbox", id: "sizes", checked: state.sizes, change: (event) => app.store.set({ sizes: (event.target as HTMLInputElement).checked }) }),
      "Show sizes"));
}

const player = { timer: 0 };

export function stop(): void {
  clearInterval(player.timer);
  player.timer = 0;
}

function play(app: App, place: Place): void {
  stop();
  const numbers = place.layers.map((layer) => layer.number);
  app.store.set({ step: numbers[0] ?? 0 });
  player.timer = window.setInterval(() => {
    const at = numbers.indexOf(app.store.state.step);
    if (app.store.state.place !== place.id || at < 0) { stop(); app.redraw(); return; }
    if (at + 1 === numbers.length) { stop(); app.store.set({ step: 0 }); return; }
    app.store.set({ step: numbers[at + 1] ?? 0 });
  }, 2600);
  app.redraw();
}

function stepCard(app: App, place: Place): HTMLElement {
  const { state } = app.store;
  const pickedNumber = state.picked.startsWith(`${place.id}.`) ? Number(state.picked.slice(place.id.length + 1)) : 0;
  const number = pickedNumber || state.step;
  const layer = place.layers.find((known) => known.number === number);
  if (!layer) return el("section", { class: "card", id: "card", "aria-live": "polite" }, el("h2", {}, "Layer by layer"),
    el("p", {}, "Press Next to build it up from the wood, or tap a layer to read about it."));
  return el("section", { class: "card", id: "card", "aria-live": "polite" }, el("h2", {}, `${layer.number} ${layer.name}`), words(app, place, layer));
}

function words(app: App, place: Place, layer: PlaceLayer): HTMLElement {
  const rows: [string, string][] = [
    ["What it does", layer.why], ["Sizes", layer.size], ["Fixed by", layer.fastening], ["Tool", layer.tool],
    ["Protect yourself", layer.gear], ["Often done wrong", layer.mistake], ["How to check", layer.check], ["Source", layer.source],
  ];
  for (const measure of place.measures.filter((known) => known.layer === layer.number)) {
    rows.splice(2, 0, ["Drawn size", `${small(measure.value_m, app.store.state.units)} (${measure.text})`]);
  }
  return facts(rows.filter(([, text]) => text));
}

/** The colours that a layer is drawn in. */
function chips(app: App, layer: number): HTMLElement {
  const parts = [...app.tones()].filter(([part]) => part.startsWith(`${layer}/`) && !/fastener|framing/.test(part));
  return el("i", { class: "mark chips", "aria-hidden": "true" }, ...parts.map(([part, colour]) => {
    const chip = el("i", { "data-part": part });
    chip.style.background = colour;
    return chip;
  }));
}

function layerList(app: App, place: Place): HTMLElement {
  const { state } = app.store;
  const list = el("ul", { class: "list layers", id: "layers", "data-of": place.id });
  fill(list, ...place.layers.map((layer) => {
    const id = `${place.id}.${layer.number}`;
    const tick = el("input", {
      type: "checkbox", checked: !state.hidden.includes(layer.number), "aria-label": `Show layer ${layer.number} ${layer.name}`,
      change: (event) => {
        const on = (event.target as HTMLInputElement).checked;
        app.store.set({ hidden: on ? state.hidden.filter((n) => n !== layer.number) : [...state.hidden, layer.number] });
      },
    });
    const name = button("", () => app.store.set({ picked: state.picked === id ? "" : id }), {
      class: "row", "aria-pressed": String(state.picked === id), "data-layer": layer.number,
    });
    name.append(el("b", {}, `${layer.number} ${layer.name}`));
    name.prepend(chips(app, layer.number));
    return el("li", {}, app.drawn ? el("label", { class: "tick" }, tick) : null, name);
  }).reverse());
  return el("section", {}, el("h2", {}, "Layers, top first"), list);
}
