// Words over the picture: numbers of layers with leaders, names of planes, sizes; none over another.
import type { PageData, Place, Variant } from "./data";
import { fill, svg } from "./dom";
import type { State } from "./state";
import { area, length, small } from "./units";
import type { World } from "./world";

const ruler = document.createElement("canvas").getContext("2d");
/** How wide words come out in the overlay, pixels. */
export function wide(text: string): number {
  if (!ruler) return 7.5 * text.length;
  ruler.font = '600 13px system-ui, "DejaVu Sans", sans-serif';
  return ruler.measureText(text).width;
}

export interface Box { x: number; y: number; w: number; h: number }
export interface Tag { box: Box; lines: string[]; from: [number, number] | null; round: boolean; kind: string }

const overlap = (a: Box, b: Box): boolean =>
  a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;

/** Set all words of the picture; leaders on one side never cross. */
export function setTags(world: World, data: PageData, variant: Variant, state: State, measured: Tag[]): Tag[] {
  const place = data.places.find((known) => known.id === state.place);
  const tags = place ? layerTags(world, place, state) : houseTags(world, variant, state);
  const taken = [...tags.map((tag) => tag.box)];
  if (place && state.sizes) {
    for (const tag of sizeTags(world, place, state)) {
      if (taken.some((box) => overlap(box, tag.box))) continue;
      taken.push(tag.box);
      tags.push(tag);
    }
  }
  return [...tags, ...measured];
}

function layerTags(world: World, place: Place, state: State): Tag[] {
  const { clientWidth: width, clientHeight: height } = world.canvas;
  const narrow = width < 560;
  const spots = world.seenLayers(place.id);
  const found: { at: [number, number]; text: string }[] = [];
  for (const layer of place.layers) {
    if (state.hidden.includes(layer.number) || (state.step > 0 && layer.number > state.step)) continue;
    const spot = spots.get(layer.number);
    const at = spot && world.pixel(spot);
    if (at) found.push({ at, text: narrow ? String(layer.number) : `${layer.number} ${layer.name}` });
  }
  const tags: Tag[] = [];
  const middle = found.length ? found.reduce((sum, f) => sum + f.at[0], 0) / found.length : width / 2;
  for (const left of [true, false]) {
    const side = found.filter((f) => (f.at[0] < middle) === left).sort((a, b) => a.at[1] - b.at[1]);
    const tall = narrow ? 26 : 24;
    const tops = spread(side.map((f) => f.at[1] - tall / 2), tall + 6, narrow || !left ? 62 : 8, height - tall - (left ? 78 : 8));
    const column = side.map((f, k) => {
      const w = narrow ? 26 : 18 + wide(f.text);
      const box = { x: left ? 10 : width - w - 10, y: tops[k] ?? 0, w, h: tall };
      return { box, lines: [f.text], from: f.at, round: narrow, kind: "layer" };
    });
    uncross(column, left);
    tags.push(...column);
  }
  return tags;
}

/** Least movement so that neighbours stand `step` apart between two bounds. */
export function spread(wanted: number[], step: number, least: number, most: number): number[] {
  const blocks: { sum: number; count: number }[] = [];
  wanted.forEach((value, k) => {
    blocks.push({ sum: value - k * step, count: 1 });
    for (;;) {
      const [a, b] = [blocks[blocks.length - 2], blocks[blocks.length - 1]];
      if (!a || !b || a.sum / a.count <= b.sum / b.count) break;
      blocks.splice(-2, 2, { sum: a.sum + b.sum, count: a.count + b.count });
    }
  });
  const flat = blocks.flatMap((block) => Array<number>(block.count).fill(block.sum / block.count));
  const top = Math.max(least, most - step * (wanted.length - 1));
  return flat.map((value, k) => Math.min(Math.max(value, least), top) + k * step);
}

function uncross(tags: Tag[], left: boolean): void {
  const end = (tag: Tag): [number, number] => [left ? tag.box.x + tag.box.w : tag.box.x, tag.box.y + tag.box.h / 2];
  for (let round = 0; round < 60; round++) {
    let swapped = false;
    for (let i = 0; i < tags.length; i++) {
      for (let j = i + 1; j < tags.length; j++) {
        const [a, b] = [tags[i], tags[j]];
        if (!a?.from || !b?.from || !crosses(a.from, end(a), b.from, end(b))) continue;
        [a.box.y, b.box.y] = [b.box.y, a.box.y];
        swapped = true;
      }
    }
    if (!swapped) return;
  }
}

export function crosses(a: [number, number], b: [number, number], c: [number, number], d: [number, number]): boolean {
  const turn = (p: [number, number], q: [number, number], r: [number, number]): number =>
    (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

function houseTags(world: World, variant: Variant, state: State): Tag[] {
  const tags: Tag[] = [];
  const narrow = world.canvas.clientWidth < 560;
  const planes = [...variant.measure.planes].sort((a, b) => b.area_m2 - a.area_m2);
  for (const plane of planes) {
    const lines = narrow
      ? [area(plane.area_m2, state.units)]
      : [`${plane.kind === "low" ? "Nearly flat" : "Steep"} ${plane.pitch}`, area(plane.area_m2, state.units)];
    tryTag(world, tags, middleOf(plane.outline), lines, "plane", plane.id);
  }
  const edge = variant.measure.edges.find((known) => known.id === state.picked);
  const [a, b] = [edge?.ends[0], edge?.ends[edge.ends.length - 1]];
  if (edge && a && b) {
    const spot = [0, 1, 2].map((k) => ((a[k] ?? 0) + (b[k] ?? 0)) / 2);
    tryTag(world, tags, spot, [length(edge.length_m, state.units)], "picked", "");
  }
  return tags;
}

function tryTag(world: World, tags: Tag[], spot: number[], lines: string[], kind: string, plane: string): void {
  const pixel = world.pixel(world.at(spot));
  if (!pixel) return;
  const first = world.ray(pixel[0], pixel[1], world.house.children);
  if (plane && first && first.object.userData["id"] !== plane) return;
  const w = 16 + Math.max(...lines.map(wide));
  const h = 8 + 17 * lines.length;
  const box = { x: pixel[0] - w / 2, y: pixel[1] - h / 2, w, h };
  const { clientWidth: width, clientHeight: height } = world.canvas;
  if (box.x < 2 || box.y < 2 || box.x + w > width - 2 || box.y + h > height - 2) return;
  if (tags.some((tag) => overlap(tag.box, box))) return;
  tags.push({ box, lines, from: null, round: false, kind });
}

function middleOf(ring: number[][]): number[] {
  let [sum, x, y, z] = [0, 0, 0, 0];
  const first = ring[0] ?? [0, 0, 0];
  for (let k = 1; k + 1 < ring.length; k++) {
    const [b, c] = [ring[k] ?? first, ring[k + 1] ?? first];
    const size = ((b[0] ?? 0) - (first[0] ?? 0)) * ((c[1] ?? 0) - (first[1] ?? 0)) - ((c[0] ?? 0) - (first[0] ?? 0)) * ((b[1] ?? 0) - (first[1] ?? 0));
    sum += size;
    x += size * ((first[0] ?? 0) + (b[0] ?? 0) + (c[0] ?? 0)) / 3;
    y += size * ((first[1] ?? 0) + (b[1] ?? 0) + (c[1] ?? 0)) / 3;
    z += size * ((first[2] ?? 0) + (b[2] ?? 0) + (c[2] ?? 0)) / 3;
  }
  return sum ? [x / sum, y / sum, z / sum] : first;
}

function sizeTags(world: World, place: Place, state: State): Tag[] {
  const tags: Tag[] = [];
  for (const measure of place.measures) {
    const layer = place.layers.find((known) => known.number === measure.layer);
    if (!layer || state.hidden.includes(measure.layer)) continue;
    if (state.step > 0 && measure.layer !== state.step) continue;
    const lift = layer.lift.map((value) => value * state.lift);
    const ends = measure.ends.map((end) => world.pixel(world.at(end.map((value, k) => value + (lift[k] ?? 0)))));
    const [p, q] = ends;
    if (!p || !q || Math.hypot(p[0] - q[0], p[1] - q[1]) < 14) continue;
    const text = small(measure.value_m, state.units);
    const w = 14 + wide(text);
    const box = { x: (p[0] + q[0]) / 2 - w / 2, y: (p[1] + q[1]) / 2 - 11, w, h: 22 };
    tags.push({ box, lines: [text], from: null, round: false, kind: `size:${p.join(",")}:${q.join(",")}` });
  }
  return tags;
}

/** Draw the words into the overlay. */
export function drawTags(overlay: SVGElement, tags: Tag[], width: number, height: number): void {
  overlay.setAttribute("viewBox", `0 0 ${width} ${height}`);
  const nodes: Node[] = [];
  for (const tag of tags) {
    if (tag.kind.startsWith("size:")) {
      const [, from = "", to = ""] = tag.kind.split(":");
      const [x1 = 0, y1 = 0] = from.split(",").map(Number);
      const [x2 = 0, y2 = 0] = to.split(",").map(Number);
      nodes.push(svg("line", { x1, y1, x2, y2, class: "size" }), svg("circle", { cx: x1, cy: y1, r: 3, class: "end" }), svg("circle", { cx: x2, cy: y2, r: 3, class: "end" }));
    }
    if (!tag.from) continue;
    const right = tag.from[0] < tag.box.x;
    const x = right ? tag.box.x : tag.box.x + tag.box.w;
    nodes.push(
      svg("line", { x1: tag.from[0], y1: tag.from[1], x2: x, y2: tag.box.y + tag.box.h / 2, class: "halo" }),
      svg("line", { x1: tag.from[0], y1: tag.from[1], x2: x, y2: tag.box.y + tag.box.h / 2, class: "leader" }),
      svg("circle", { cx: tag.from[0], cy: tag.from[1], r: 3.5, class: "end" }),
    );
  }
  for (const tag of tags) {
    const { x, y, w, h } = tag.box;
    nodes.push(svg("rect", { x, y, width: w, height: h, rx: tag.round ? h / 2 : 5, class: `plate ${tag.kind.split(":")[0]}` }));
    tag.lines.forEach((line, at) => {
      const words = svg("text", { x: x + w / 2, y: y + h / 2 + 17 * (at - (tag.lines.length - 1) / 2) + 5, class: "words" });
      words.textContent = line;
      nodes.push(words);
    });
  }
  fill(overlay, ...nodes);
  const boxes = tags.map((tag) => tag.box);
  let over = 0;
  boxes.forEach((box, at) => boxes.slice(at + 1).forEach((other) => { if (overlap(box, other)) over++; }));
  overlay.dataset["overlaps"] = String(over);
  overlay.dataset["labels"] = String(tags.length);
}

/** Draw the same words with a canvas brush, for a picture that is kept or printed. */
export function paintTags(brush: CanvasRenderingContext2D, tags: Tag[]): void {
  brush.font = "14px system-ui, sans-serif";
  brush.textAlign = "center";
  brush.textBaseline = "middle";
  for (const tag of tags) {
    const line = (x1: number, y1: number, x2: number, y2: number): void => {
      for (const [style, wide] of [["#ffffff", 4], ["#222222", 1.5]] as const) {
        brush.strokeStyle = style;
        brush.lineWidth = wide;
        brush.beginPath(); brush.moveTo(x1, y1); brush.lineTo(x2, y2); brush.stroke();
      }
    };
    if (tag.kind.startsWith("size:")) {
      const [x1 = 0, y1 = 0, x2 = 0, y2 = 0] = tag.kind.split(":").slice(1).flatMap((p) => p.split(",").map(Number));
      line(x1, y1, x2, y2);
    }
    if (tag.from) line(tag.from[0], tag.from[1], tag.from[0] < tag.box.x ? tag.box.x : tag.box.x + tag.box.w, tag.box.y + tag.box.h / 2);
  }
  for (const { box, lines } of tags) {
    brush.fillStyle = "rgba(255,255,255,.94)";
    brush.strokeStyle = "#333333";
    brush.lineWidth = 1;
    brush.beginPath(); brush.roundRect(box.x, box.y, box.w, box.h, 5); brush.fill(); brush.stroke();
    brush.fillStyle = "#161616";
    lines.forEach((text, at) => brush.fillText(text, box.x + box.w / 2, box.y + box.h / 2 + 17 * (at - (lines.length - 1) / 2)));
  }
}
