// The salesperson's questions: prepared answers side by side.
import type { App } from "../app";
import type { PageData, Units, Variant } from "../data";
import { el } from "../dom";
import { capital, spoken, told, unturned } from "../names";
import { area } from "../units";
import { roleOf } from "./house";

export function whatIfPanel(app: App): Node[] {
  const { data, store } = app;
  const { units } = store.state;
  const now = app.variant();
  if (data.variants.length < 2) {
    return [el("section", {}, el("h2", {}, "What if"),
      el("p", {}, data.whole ? "No other answers were prepared for this page. They are made with it: another roof on a plane, or another limit between low and steep."
        : "The other answers are being worked out; they follow in a moment.")),
      findings(app, now), el("section", {}, compared(app))];
  }
  const choose = el("fieldset", { class: "answers" }, el("legend", {}, "What if"), ...data.variants.map((variant) => el("label", { class: "choice" },
    el("input", { type: "radio", name: "variant", value: variant.id, checked: variant.id === now.id, change: () => store.set({ variant: variant.id }) }),
    el("b", {}, told(data, variant.title, units)))));
  // On a narrow screen one switch leaves room for the answer itself.
  const pick = el("select", { id: "answer-choice", change: () => store.set({ variant: pick.value }) },
    ...data.variants.map((variant) => el("option", { value: variant.id, selected: variant.id === now.id }, told(data, variant.title, units))));
  return [
    el("section", {}, choose, el("div", { class: "switch" }, el("label", { for: "answer-choice" }, "What if"), pick)),
    el("section", { class: "card", id: "answer", "aria-live": "polite" }, el("h2", {}, told(data, now.question || now.title, units)),
      el("p", { class: verdict(now).grave ? "warn" : "" }, el("b", {}, verdict(now).words)),
      ...now.plain.map((line) => el("p", {}, told(data, line, units))),
      ...[...new Set(now.water.map((path) => path.says))].map((says) => el("p", { class: "warn" }, says))),
    el("section", {}, compared(app)),
    findings(app, now),
  ];
}

/** What the rules make of an answer, in a few words. */
function verdict(variant: Variant): { words: string; grave: boolean } {
  const count = (severity: string): number => variant.findings.filter((finding) => finding.severity === severity).length;
  if (count("error")) return { words: "Must not be built so", grave: true };
  const watch = count("caution");
  return { words: `No rule here forbids it${watch ? `; ${watch} ${watch === 1 ? "point" : "points"} to watch` : ""}`, grave: false };
}

/** One line of the comparison: what it is of, and its words for each answer. */
interface Line { name: string; words: string[] }

/** All answers beside one another; a narrow screen shows the roof as it is and the chosen one. */
export function compared(app: App): HTMLElement {
  const { data, store } = app;
  const { units } = store.state;
  const now = app.variant();
  const groups: [string, Line[]][] = [["The roof", roofs(app)], ["What to order", orders(data.variants)]];
  const columns = data.variants.map((variant, at) => ["answer", at === 0 ? "first" : "", variant.id === now.id ? "now" : ""].join(" ").trim());
  const heads = data.variants.map((variant, at) => el("th", { scope: "col", class: columns[at] ?? "" }, told(data, variant.title, units)));
  const row = ({ name, words }: Line): HTMLElement => el("tr", {}, el("th", { scope: "row" }, name), ...words.map((text, at) =>
    el("td", { class: `${columns[at] ?? ""}${text === words[0] ? "" : " differs"}` }, text)));
  return el("div", { class: "wide", tabindex: 0, role: "group", "aria-label": "Answers side by side" },
    el("table", { class: "compared", "data-units": store.state.units },
      el("caption", {}, data.variants.length > 1 ? "Side by side; bold where an answer differs" : "This roof"),
      el("thead", {}, el("tr", {}, el("td", {}), ...heads)),
      ...groups.map(([title, lines]) => el("tbody", {},
        el("tr", { class: "group" }, el("th", { scope: "rowgroup", colspan: 1 + data.variants.length }, title)), ...lines.map(row)))));
}

function roofs(app: App): Line[] {
  const { variants } = app.data;
  const { units } = app.store.state;
  const carried = (kind: string): string[] => variants.map((variant) => {
    const planes = new Set(variant.measure.planes.filter((plane) => plane.kind === kind).map((plane) => plane.id));
    const names = new Set(variant.assemblies.filter((one) => planes.has(one.plane)).map((one) => one.name));
    return [...names].join("; ") || "none";
  });
  const size = (key: string): string[] => variants.map((variant) => area(variant.measure.totals[key] ?? 0, units));
  return [
    { name: "By the rules", words: variants.map((variant) => verdict(variant).words) },
    { name: "On the nearly flat part", words: carried("low") },
    { name: "On the steep part", words: carried("steep") },
    { name: "Nearly flat", words: size("low_area_m2") },
    { name: "Steep", words: size("steep_area_m2") },
    { name: "Whole roof", words: size("area_m2") },
  ];
}

function orders(variants: Variant[]): Line[] {
  const names = new Map(variants.flatMap((variant) => variant.takeoff.items.map((item) => [item.material, item.name] as const)));
  if (!names.size) return [{ name: "All materials", words: variants.map((variant) => (variant.waits?.includes("takeoff") ? "being counted" : "none")) }];
  return [...names].map(([material, name]) => ({
    name,
    words: variants.map((variant) => {
      if (variant.waits?.includes("takeoff")) return "being counted";
      const item = variant.takeoff.items.find((known) => known.material === material);
      return item ? packs(item.packs_to_order, item.pack) : "none";
    }),
  }));
}

const PLURAL: Record<string, string> = { box: "boxes" };
function packs(count: number, pack: string): string {
  return `${count} ${count === 1 ? pack : PLURAL[pack] ?? `${pack}s`}`;
}

/** What a finding is of: planes and edges are told by name, a drain by its own. */
function subject(data: PageData, variant: Variant, where: string, units: Units): string {
  const named = /\[([^\]]+)\]/.exec(where)?.[1];
  const edge = variant.measure.edges.find((known) => known.id === named);
  if (edge) return `${capital(data.roles[roleOf(edge)]?.name ?? edge.role)} of ${spoken(data, edge.planes)}: `;
  return named ? `${told(data, named, units)}: ` : "";
}

function findings(app: App, variant: Variant): HTMLElement {
  const { data, store: { state: { units } } } = app;
  const WORDS = { error: "Must be changed", caution: "Watch this", note: "Good to know" };
  const note = unturned(data, units);
  return el("section", {}, el("h2", {}, "What the rules say"),
    note ? el("p", {}, el("small", {}, note)) : null,
    variant.findings.length
      ? el("ul", { class: "findings" }, ...variant.findings.map((finding) => el("li", { class: finding.severity },
        el("b", {}, `${WORDS[finding.severity]}: `), subject(data, variant, finding.where, units), told(data, finding.message, units), finding.source ? el("small", {}, ` (${finding.source})`) : null)))
      : el("p", {}, "Nothing to tell."),
    variant.waits?.includes("laps") ? el("p", { role: "status" }, "The laps are still being proved; what is found there follows in a moment.") : null);
}
