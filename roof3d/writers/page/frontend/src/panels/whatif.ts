// The salesperson's questions: prepared answers side by side.
import type { App } from "../app";
import type { Variant } from "../data";
import { el, table } from "../dom";
import { area } from "../units";

export function whatIfPanel(app: App): Node[] {
  const { data, store } = app;
  const now = app.variant();
  const first = data.variants[0] ?? now;
  if (data.variants.length < 2) {
    return [el("section", {}, el("h2", {}, "What if"),
      el("p", {}, data.whole ? "No other answers were prepared for this page. They are made with it: another roof on a plane, or another limit between low and steep."
        : "The other answers are being worked out; they follow in a moment.")),
      findings(now), el("section", {}, quantities(now, now))];
  }
  const choose = el("fieldset", {}, el("legend", {}, "What if"), ...data.variants.map((variant) => el("label", { class: "choice" },
    el("input", { type: "radio", name: "variant", value: variant.id, checked: variant.id === now.id, change: () => store.set({ variant: variant.id }) }),
    el("span", {}, el("b", {}, variant.title), variant.question ? el("br") : null, variant.question))));
  return [
    el("section", {}, choose),
    el("section", { class: "card", "aria-live": "polite" }, el("h2", {}, now.title), ...now.plain.map((line) => el("p", {}, line)),
      ...now.water.map((path) => el("p", { class: "warn" }, path.says))),
    findings(now),
    el("section", {}, areas(app, data.variants), quantities(first, now)),
  ];
}

function areas(app: App, variants: Variant[]): HTMLElement {
  const { units } = app.store.state;
  return table("Areas side by side", ["Part", ...variants.map((variant) => variant.title)], [
    ["Nearly flat", "low_area_m2"], ["Steep", "steep_area_m2"], ["Whole roof", "area_m2"],
  ].map(([name = "", key = ""]) => [name, ...variants.map((variant) => area(variant.measure.totals[key] ?? 0, units))]));
}

function quantities(first: Variant, now: Variant): HTMLElement {
  if (now.waits?.includes("takeoff")) return el("p", { role: "status" }, "What to order is being counted; it follows in a moment.");
  const compared = now.id === first.id ? [now] : [first, now];
  const names = [...new Map(compared.flatMap((v) => v.takeoff.items.map((item) => [item.material, item.name] as const)))];
  return table("What to order", ["Material", ...compared.map((variant) => variant.title)], names.map(([material, name]) => [
    name,
    ...compared.map((variant) => {
      const item = variant.takeoff.items.find((known) => known.material === material);
      return item ? packs(item.packs_to_order, item.pack) : "none";
    }),
  ]));
}

const PLURAL: Record<string, string> = { box: "boxes" };
export function packs(count: number, pack: string): string {
  return `${count} ${count === 1 ? pack : PLURAL[pack] ?? `${pack}s`}`;
}

/** What a finding is of: "openings[shop-drain]" is told as the drain's own name. */
function subject(where: string): string {
  const named = /\[([^\]]+)\]/.exec(where)?.[1];
  return named ? `${named}: ` : "";
}

function findings(variant: Variant): HTMLElement {
  const WORDS = { error: "Must be changed", caution: "Watch this", note: "Good to know" };
  return el("section", {}, el("h2", {}, "What the rules say"),
    variant.findings.length
      ? el("ul", { class: "findings" }, ...variant.findings.map((finding) => el("li", { class: finding.severity },
        el("b", {}, `${WORDS[finding.severity]}: `), subject(finding.where), finding.message, finding.source ? el("small", {}, ` (${finding.source})`) : null)))
      : el("p", {}, "Nothing to tell."),
    variant.waits?.includes("laps") ? el("p", { role: "status" }, "The laps are still being proved; what is found there follows in a moment.") : null);
}
