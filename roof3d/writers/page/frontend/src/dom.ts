// Elements, made without ever reading text as markup.
type Child = Node | string | null | undefined | false;
type Props = Record<string, string | number | boolean | null | ((event: Event) => void)>;

export function el<K extends keyof HTMLElementTagNameMap>(
  tag: K, props: Props = {}, ...children: Child[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (typeof value === "function") made.addEventListener(name, value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null) made.setAttribute(name, String(value));
  }
  fill(made, ...children);
  return made;
}

export function svg(tag: string, props: Record<string, string | number> = {}, ...children: Node[]): SVGElement {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(props)) made.setAttribute(name, String(value));
  made.append(...children);
  return made;
}

export function fill(parent: Element, ...children: Child[]): void {
  parent.replaceChildren(...children.filter((child): child is Node | string => !!child));
}

export function button(text: string, onClick: () => void, props: Props = {}): HTMLButtonElement {
  return el("button", { type: "button", click: () => onClick(), ...props }, text);
}

/** Rows of name and value. */
export function facts(rows: [string, string | Node][]): HTMLElement {
  return el("dl", { class: "facts" }, ...rows.flatMap(([name, value]) => [el("dt", {}, name), el("dd", {}, value)]));
}

export function table(caption: string, head: string[], rows: (string | Node)[][]): HTMLElement {
  return el("div", { class: "wide", tabindex: 0, role: "group", "aria-label": caption },
    el("table", {},
      el("caption", {}, caption),
      el("thead", {}, el("tr", {}, ...head.map((name) => el("th", { scope: "col" }, name)))),
      el("tbody", {}, ...rows.map((row) => el("tr", {},
        ...row.map((cell, at) => (at === 0 ? el("th", { scope: "row" }, cell) : el("td", {}, cell))))))));
}
