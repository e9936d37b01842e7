// What things are coloured and marked with: by kind of plane, by role of edge, by layer.
import { CanvasTexture, DoubleSide, MeshLambertMaterial, RepeatWrapping, SRGBColorSpace, Vector3 } from "three";
import type { PageData, Swatch } from "./data";
import type { State } from "./state";
import { lightness } from "./tones";

export interface Stroke { colour: string; width: number; dash: number } // dash in metres, 0 for none
const STROKES: Record<string, Stroke> = {
  transition: { colour: "#b3261e", width: 5, dash: 0 },
  valley: { colour: "#1f5fa8", width: 4, dash: 0 },
  eave: { colour: "#2c2c2c", width: 2.5, dash: 0 },
  rake: { colour: "#2c2c2c", width: 2.5, dash: 0.35 },
  high_edge: { colour: "#2c2c2c", width: 2.5, dash: 0.7 },
  ridge: { colour: "#7a4b10", width: 3.5, dash: 0 },
  hip: { colour: "#7a4b10", width: 3.5, dash: 0.5 },
  pitch_break: { colour: "#6a3d9a", width: 3.5, dash: 0.5 },
  parapet: { colour: "#5b6b73", width: 3.5, dash: 0 },
  headwall: { colour: "#16695f", width: 3.5, dash: 0 },
  sidewall: { colour: "#16695f", width: 3.5, dash: 0.5 },
};
const PLAIN: Stroke = { colour: "#2c2c2c", width: 2, dash: 0 };
export const stroke = (role: string): Stroke => STROKES[role] ?? PLAIN;

const MASSING: Record<string, string> = {
  wall: "#e6dfd0", soffit: "#d8cfbb", floor: "#b9b4a8", chimney: "#93594a", skylight: "#9fc0d0", pipe: "#80868a",
  parapet: "#ddd5c4", coping: "#9aa0a3",
};
const LAYER: Record<string, string> = {
  framing: "#b98f5a", deck: "#d9b67f", bed: "#26262a", fastener: "#5a5f66", wall: "#e2d9c6", unit: "#9da3a6",
  starter: "#54504b",
};
/** Sheets under the top one, bottom up, so that neighbours differ in lightness too. */
const SHEETS = ["#cfc8b4", "#6d6a66", "#a9a294", "#4b4d52", "#bdb6a2", "#7d7a74"];

export interface Mix { colour: string; blend: { hex: string; share: number }[] }

export function chosen(data: PageData, state: State, group: "shingle" | "granule" | "metal" | "hip"): Swatch {
  const swatches = data.colours.groups.find((g) => g.id === group)?.swatches ?? [];
  return swatches.find((s) => s.id === state[group]) ?? swatches[0] ?? { id: "", name: "", hex: "#777777", blend: [] };
}

/** Colour of a part of a joint; `nth` counts the sheets from the bottom. */
export function layerMix(kind: string, material: string, nth: number, data: PageData, state: State): Mix {
  const of = (group: "shingle" | "granule" | "metal" | "hip"): Mix => {
    const swatch = chosen(data, state, group);
    return { colour: swatch.hex, blend: swatch.blend };
  };
  if (kind === "shingle") return of(/hip|ridge/.test(material) ? "hip" : "shingle");
  if (kind === "metal") return of("metal");
  if (kind === "sheet" && /cap|mineral|single/.test(material)) return of("granule");
  if (kind === "sheet") return { colour: SHEETS[nth % SHEETS.length] ?? "#999999", blend: [] };
  return { colour: LAYER[kind] ?? "#999999", blend: [] };
}

export const massing = (kind: string): string => MASSING[kind] ?? "#c8c2b4";

/** A tile of the mix as it lies on a roof: shingles in rows, granules as grain. */
export function tile(mix: Mix, kind: "shingle" | "grain", hatched: boolean): CanvasTexture {
  const size = 256;
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = size;
  const brush = canvas.getContext("2d");
  if (brush) {
    const random = seeded(7);
    brush.fillStyle = mix.colour;
    brush.fillRect(0, 0, size, size);
    const rows = kind === "shingle" ? 16 : 64;
    const step = size / rows;
    for (let row = 0; row < rows; row++) {
      for (let x = 0; x < size;) {
        const wide = kind === "shingle" ? step * (1 + Math.floor(random() * 3)) : step;
        brush.fillStyle = drawn(mix, random());
        brush.globalAlpha = kind === "shingle" ? 0.85 : 0.35 + 0.4 * random();
        brush.fillRect(x, row * step, wide, step);
        x += wide;
      }
    }
    brush.globalAlpha = 1;
    if (hatched) {
      // A nearly flat roof carries a wide slanting hatch: told apart in grey print too.
      brush.strokeStyle = lightness(mix.colour) > 36 ? "rgba(0,0,0,.38)" : "rgba(255,255,255,.42)";
      brush.lineWidth = 5;
      for (let at = -size; at < 2 * size; at += size / 2) {
        brush.beginPath();
        brush.moveTo(at, 0);
        brush.lineTo(at + size, size);
        brush.stroke();
      }
    }
  }
  const texture = new CanvasTexture(canvas);
  texture.colorSpace = SRGBColorSpace;
  texture.wrapS = texture.wrapT = RepeatWrapping;
  texture.anisotropy = 4;
  return texture;
}

function drawn(mix: Mix, at: number): string {
  let rest = at;
  for (const part of mix.blend) {
    if (rest < part.share) return part.hex;
    rest -= part.share;
  }
  return mix.colour;
}

function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 1664525 + 1013904223) % 4294967296;
    return state / 4294967296;
  };
}

export const PATTERNS = 5;
/** A flat-shaded material with one of a few patterns of fine lines: plain, along, across, slant, check. */
export function patterned(pattern: number, along: Vector3): MeshLambertMaterial {
  const material = new MeshLambertMaterial({ side: DoubleSide, flatShading: true });
  material.onBeforeCompile = (shader) => {
    shader.uniforms["uAlong"] = { value: along };
    shader.uniforms["uPattern"] = { value: pattern };
    shader.vertexShader = shader.vertexShader
      .replace("#include <common>", "#include <common>\nvarying vec3 vPlace;")
      .replace("#include <begin_vertex>", "#include <begin_vertex>\nvPlace = position;");
    shader.fragmentShader = shader.fragmentShader
      .replace("#include <common>", `#include <common>
varying vec3 vPlace; uniform vec3 uAlong; uniform int uPattern;
float rows(float at, float step) {
  float here = at / step; float wide = fwidth(here);
  if (wide > 0.5) return 0.3;
  return 1.0 - smoothstep(0.3 - wide, 0.3 + wide, abs(fract(here) - 0.5));
}`)
      .replace("#include <color_fragment>", `#include <color_fragment>
{
  float a = dot(vPlace, uAlong);
  vec3 across = normalize(cross(uAlong, vec3(0.0, 0.0, 1.0)) + vec3(0.0, 0.0, 0.35));
  float s = dot(vPlace, across);
  float ink = 0.0;
  if (uPattern == 1) ink = rows(s, 0.03);
  if (uPattern == 2) ink = rows(a, 0.03);
  if (uPattern == 3) ink = rows(a + s, 0.045);
  if (uPattern == 4) ink = rows(a, 0.04) * rows(s, 0.04);
  diffuseColor.rgb *= 1.0 - 0.16 * ink;
}`);
  };
  material.customProgramCacheKey = () => "patterned";
  return material;
}
