// Lengths, areas and pitches as people read them; the same rounding as the program's tables.
import type { Units } from "./data";

const INCH = 0.0254;
const FOOT = 12 * INCH;

export function length(metres: number, units: Units): string {
  if (units === "metric") return `${metres.toFixed(3)} m`;
  const sixteenths = Math.round((Math.abs(metres) / INCH) * 16);
  const sign = metres < 0 && sixteenths ? "-" : "";
  const feet = Math.floor(sixteenths / 192);
  const rest = sixteenths % 192;
  const inches = Math.floor(rest / 16);
  const part = fraction(rest % 16, 16);
  const whole = inches || feet || !part ? String(inches) : "";
  const words = `${[whole, part].filter(Boolean).join(" ")}"`;
  return sign + (feet ? `${feet}' ${words}` : words);
}

/** A length of a detail: inches to the nearest eighth, or whole millimetres. */
export function small(metres: number, units: Units): string {
  if (units === "metric") return `${Math.round(metres * 1000)} mm`;
  const fine = (metres / INCH) * 32;
  const steps = Math.abs(fine - Math.round(fine)) < 0.01 ? 32 : 8;
  const count = Math.round((metres / INCH) * steps);
  const whole = Math.floor(count / steps);
  const part = fraction(count % steps, steps);
  return `${[whole || !part ? String(whole) : "", part].filter(Boolean).join(" ")} in`;
}

export function area(square: number, units: Units): string {
  if (units === "metric") return `${grouped(square, 2)} m²`;
  return `${grouped(square / (FOOT * FOOT), 1)} sq ft`;
}

export function squares(square: number): string {
  return `${(square / (100 * FOOT * FOOT)).toFixed(2)} squares`;
}

export function pitch(text: string, slopeDeg: number, units: Units): string {
  const angle = `${Number(slopeDeg.toFixed(1))}°`;
  return units === "metric" ? angle : `${inEighths(text)} (${angle})`;
}

/** A pitch as the trade says it: 1/4:12, where a program writes 0.25:12. */
export function inEighths(text: string): string {
  const rise = Number(text.replace(/:12$/, ""));
  if (!Number.isInteger(rise * 8)) return text;
  const whole = Math.floor(rise);
  const part = fraction((rise - whole) * 8, 8);
  return `${[whole || !part ? whole : "", part].filter((x) => x !== "").join(" ")}:12`;
}

/** Each pitch of a sentence in degrees on a metric page; the pitch stays beside it where people say it so. */
export function pitched(text: string, units: Units): string {
  if (units !== "metric") return text;
  const written = /(?<![\w.:/])((?:(\d+) )?(\d+(?:\.\d+)?)(?:\/(\d+))?:12)\b(?: \([\d.]+°\))?/g;
  return text.replace(written, (_, said: string, whole: string | undefined, top: string, under: string | undefined) => {
    const rise = Number(whole ?? 0) + Number(top) / Number(under ?? 1);
    const angle = `${Number(((Math.atan(rise / 12) * 180) / Math.PI).toFixed(1))}°`;
    return /^\d{2,}\.\d{1,2}:/.test(said) ? angle : `${angle} (${said})`;
  });
}

export function compass(azimuth: number | null): string {
  if (azimuth === null) return "level";
  const names = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
  return names[Math.round((((azimuth % 360) + 360) % 360) / 45) % 8] ?? "";
}

function grouped(value: number, places: number): string {
  return value.toLocaleString("en-US", { minimumFractionDigits: places, maximumFractionDigits: places });
}

function fraction(top: number, bottom: number): string {
  if (!top) return "";
  let [a, b] = [top, bottom];
  while (b) [a, b] = [b, a % b];
  return `${top / a}/${bottom / a}`;
}
