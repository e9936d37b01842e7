// What things are called for a homeowner; their ids stay beside them in small letters.
import type { PageData, Units } from "./data";
import { pitched } from "./units";

export const capital = (text: string): string => text.slice(0, 1).toUpperCase() + text.slice(1);

/** A plane in a list or a title: "South side of the main roof". */
export const titled = (data: PageData, id: string): string => capital(data.names[id]?.name ?? id);

/** Planes in a sentence: "the south side of the main roof and the porch roof". */
export const spoken = (data: PageData, ids: string[]): string =>
  ids.map((id) => (data.names[id] ? `the ${data.names[id].name}` : id)).join(" and ");

/** A text of the program with each plane's id put as its name, and pitches as the page tells them. */
export function told(data: PageData, said: string, units: Units): string {
  const text = pitched(said, units);
  const ids = Object.keys(data.names).sort((a, b) => b.length - a.length).map((id) => id.replace(/[.]/g, "\\."));
  if (!ids.length) return text;
  const known = new RegExp(`(?<![\\w.-])(${ids.join("|")})(?![\\w-]|\\.\\w)(?:/(\\w+))?`, "g");
  const plain = text.replace(known, (_, id: string, layer?: string) => `${layer ? `the ${layer} layer of ` : ""}${spoken(data, [id])}`);
  return capital(plain.replace(/ m2\b/g, " m²"));
}

/** Sentences are written once, in the units of the model: said where the page shows others. */
export function unturned(data: PageData, units: Units): string | null {
  if (units === data.units) return null;
  return `Lengths within sentences stay in ${data.units === "metric" ? "metres and millimetres" : "feet and inches"}, as this roof was written.`;
}
