// The tape.
import type { App } from "../app";
import { button, el, facts } from "../dom";

export function measurePanel(app: App): Node[] {
  const { tape, store } = app;
  if (!app.drawn) return [el("section", {}, el("p", {}, "Measuring needs the picture, and this device cannot draw it."))];
  const mode = (value: "distance" | "area", text: string): HTMLElement => el("label", { class: "choice" },
    el("input", { type: "radio", name: "tape", value, checked: tape.mode === value, change: () => { tape.mode = value; tape.clear(); app.redraw(); } }),
    el("span", {}, text));
  const rows = tape.words(store.state.units);
  return [
    el("section", {}, el("fieldset", {}, el("legend", {}, "Measure"),
      mode("distance", "Between two taps: true distance and rise"),
      mode("area", "A chain of taps on one plane: its area"))),
    el("section", { class: "card", id: "tape", "aria-live": "polite" },
      rows.length ? facts(rows) : el("p", {}, tape.says || (tape.points.length ? "Tap on." : "Tap on the roof where to begin. Taps near a corner take the corner.")),
      tape.points.length ? button("Start again", () => { tape.clear(); app.redraw(); }, { id: "tape-clear" }) : null),
  ];
}
