// Layers of a joint told apart: where two lie side by side, one gives way in lightness.
import { Color } from "three";

/** Least difference between neighbours in CIE lightness (L*, black 0 to white 100): what grey print keeps of a colour. */
export const APART = 14;
const [LEAST, MOST] = [24, 94];
/** To darken costs more than to lighten: in shade dark tones run together. */
const DARKER = 3;

/** A part to be coloured: its wished colour, and how dear that is to it. */
export interface Wish { key: string; hex: string; dear: number; beside: string[] }

/** Give each part its wish, or the nearest shade of it at which neighbours are `APART`. */
export function toned(wishes: Wish[]): Map<string, string> {
  const order = ordered(wishes);
  // A fine choice of shades first; a coarse one is sure to be searched through.
  const levels = [3, 7, APART].reduce((found, step) => (found.size ? found : levelled(order, step)), new Map<string, number>());
  return new Map(wishes.map((wish) => [wish.key, shade(wish.hex, levels.get(wish.key) ?? lightness(wish.hex))]));
}

/** The dearest part first, then always the one that most of those before it lie beside. */
function ordered(wishes: Wish[]): Wish[] {
  const [left, order] = [[...wishes], [] as Wish[]];
  const bound = (wish: Wish): number => order.filter((known) => wish.beside.includes(known.key)).length;
  while (left.length) {
    left.sort((a, b) => bound(b) - bound(a) || b.dear - a.dear || b.beside.length - a.beside.length);
    order.push(...left.splice(0, 1));
  }
  return order;
}

/** The cheapest lightness of each part that can be found in a fair number of tries; empty where none is. */
function levelled(order: Wish[], step: number): Map<string, number> {
  const choices = order.map((wish) => {
    const own = lightness(wish.hex);
    const steps = Array.from({ length: Math.floor((MOST - LEAST) / step) + 1 }, (_, k) => LEAST + k * step);
    return [own, ...steps].map((level) => ({ level, cost: wish.dear * (level < own ? DARKER : 1) * (level - own) ** 2 }))
      .sort((a, b) => a.cost - b.cost);
  });
  const levels = new Map<string, number>();
  let best = new Map<string, number>();
  let [least, tries] = [Infinity, 15_000];
  const place = (at: number, cost: number): void => {
    const wish = order[at];
    if (!wish) { least = cost; best = new Map(levels); return; }
    const near = wish.beside.flatMap((key) => levels.get(key) ?? []);
    for (const choice of choices[at] ?? []) {
      if (cost + choice.cost >= least || tries-- < 0) return;
      if (near.some((level) => Math.abs(level - choice.level) < APART)) continue;
      levels.set(wish.key, choice.level);
      place(at + 1, cost + choice.cost);
      levels.delete(wish.key);
    }
  };
  place(0, 0);
  return best;
}

const luminance = ({ r, g, b }: Color): number => 0.2126 * r + 0.7152 * g + 0.0722 * b;

/** CIE lightness, 0 to 100. */
export function lightness(hex: string): number {
  const y = luminance(new Color(hex));
  return y > 216 / 24389 ? 116 * Math.cbrt(y) - 16 : (y * 24389) / 27;
}

/** The colour at another lightness: darkened as by shade, lightened as by white. */
function shade(hex: string, level: number): string {
  const colour = new Color(hex);
  const y = luminance(colour);
  const wanted = level > 8 ? ((level + 16) / 116) ** 3 : (level * 27) / 24389;
  if (wanted <= y) colour.multiplyScalar(y ? wanted / y : 0);
  else colour.lerp(new Color(1, 1, 1), (wanted - y) / (1 - y));
  return `#${colour.getHexString()}`;
}
