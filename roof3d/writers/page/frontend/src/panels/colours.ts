// Colours: chosen by the homeowner, with what goes together told by perceived difference.
import type { App } from "../app";
import type { ColourGroup } from "../data";
import { button, el } from "../dom";
import { chosen } from "../paint";

export function coloursPanel(app: App): Node[] {
  const { data, store } = app;
  const shingle = chosen(data, store.state, "shingle");
  return [
    el("section", {}, el("p", {}, "Screens and samples differ: decide on a real sample, outdoors.")),
    ...data.colours.groups.map((group) => swatches(app, group)),
    el("section", {}, el("h2", {}, `What goes with ${shingle.name}`),
      el("p", {}, "Closest first. The number is how far apart two colours look to the eye (CIEDE2000): under 2 is hardly seen."),
      ...(["granule", "metal", "hip"] as const).map((group) => matches(app, group, shingle.id))),
  ];
}

function swatches(app: App, group: ColourGroup): HTMLElement {
  const { state } = app.store;
  return el("section", {}, el("fieldset", { class: "swatches" }, el("legend", {}, group.name),
    el("div", { class: "grid" }, ...group.swatches.map((swatch) => {
      const chip = el("i", { "aria-hidden": "true" });
      chip.style.background = swatch.blend.length
        ? `linear-gradient(135deg, ${[swatch.hex, ...swatch.blend.map((part) => part.hex)].join(", ")})` : swatch.hex;
      return el("label", {},
        el("input", {
          type: "radio", name: group.id, value: swatch.id, checked: state[group.id] === swatch.id,
          change: () => app.store.set({ [group.id]: swatch.id }),
        }), chip, el("span", {}, swatch.name));
    }))));
}

function matches(app: App, id: "granule" | "metal" | "hip", shingle: string): HTMLElement {
  const group = app.data.colours.groups.find((known) => known.id === id);
  const found = (app.data.colours.matches[shingle] ?? []).filter((match) => match.group === id).slice(0, 3);
  return el("div", {}, el("h3", {}, group?.name ?? id), el("ul", { class: "list" }, ...found.map((match) => {
    const swatch = group?.swatches.find((known) => known.id === match.swatch);
    const chip = el("i", { class: "chip", "aria-hidden": "true" });
    chip.style.background = swatch?.hex ?? "";
    return el("li", { class: "match" }, chip,
      el("span", {}, el("b", {}, `${swatch?.name ?? match.swatch} · ${match.difference.toFixed(1)}`), el("br"), match.why),
      button("Use", () => app.store.set({ [id]: match.swatch }), { "aria-label": `Use ${swatch?.name ?? ""} for ${group?.name ?? ""}` }));
  })));
}
