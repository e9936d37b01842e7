// Plain words, and where the numbers come from.
import type { App } from "../app";
import { el } from "../dom";

export function wordsPanel(app: App): Node[] {
  const licences = document.getElementById("licences")?.textContent ?? "";
  return [
    el("section", {}, el("h2", {}, "Words"), el("dl", { class: "words" }, ...app.data.words.flatMap((entry) => [el("dt", {}, entry.word), el("dd", {}, entry.meaning)]))),
    el("section", {}, el("h2", {}, "Edges"), el("dl", { class: "words" }, ...Object.values(app.data.roles).flatMap((entry) => [el("dt", {}, entry.name), el("dd", {}, entry.meaning)]))),
    el("section", { class: "caution" }, el("h2", {}, "Take care"), ...app.data.cautions.map((line) => el("p", {}, line)),
      el("p", {}, "A picture is not an approval: the local code, the permit, the makers' instructions and licensed people decide.")),
    el("section", {}, el("details", { class: "fold" }, el("summary", {}, el("b", {}, "About this page")),
      el("p", {}, `Made by ${app.data.program}. It loads nothing from anywhere and sends nothing.`), el("pre", {}, licences))),
  ];
}
