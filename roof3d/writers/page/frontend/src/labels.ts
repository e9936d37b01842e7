// Words over the picture: numbers of layers with leaders, names of planes, sizes; none over another.
import type { PageData, Place, Variant, WrongBuild } from "./data";
import { fill, svg } from "./dom";
import type { State } from "./state";
import { area, length, pitch, small } from "./units";
import { shownEnds, type World } from "./world";

const ruler = document.createElement("canvas").getContext("2d");
/** Size of words over the picture, pixels, and what follows from it; a very wide screen is seen from afar. */
export const em = (): number => (innerWidth >= 2400 ? 22 : 13);
const font = (): string => `600 ${em()}px system-ui, "DejaVu Sans", sans-serif`;
export const tall = (): number => Math.round(1.85 * em());

/** How wide words come out in the overlay, pixels. */
export function wide(text: string): number {
  if (!ruler) return 0.6 * em() * text.length;
  ruler.font = font();
  return ruler.measureText(text).width;
}

/** A stretch of the way of water, in pixels. */
type Leg = [[number, number], [number, number]];
export interface Box { x: number; y: number; w: number; h: number }
export interface Tag { box: Box; lines: string[]; from: [number, number] | null; round: boolean; kind: string }

const overlap = (a: Box, b: Box): boolean =>
  a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;

/** Set all words of the picture; leaders on one side never cross. */
export function setTags(world: World, data: PageData, variant: Variant, state: State, measured: Tag[]): Tag[] {
  const place = data.places.find((known) => known.id === state.place);
  const tags = place ? layerTags(world, place, state) : houseTags(world, data, variant, state);
  const wrong = place?.wrong.find((known) => known.name === state.wrong);
  if (wrong) tags.push(banner(world, wrong));
  const taken = [...tags.map((tag) => tag.box)];
  if (place && state.sizes) {
    const spots = tags.flatMap((tag) => (tag.from ? [tag.from] : []));
    for (const tag of sizeTags(world, place, state)) {
      const [x1 = 0, y1 = 0, x2 = 0, y2 = 0] = tag.kind.split(":").slice(1).flatMap((p) => p.split(",").map(Number));
      const across = [y1 - y2, x2 - x1].map((way) => way / Math.hypot(x2 - x1, y2 - y1));
      const { x, y } = tag.box;
      const free = [0, 1, -1, 1.8, -1.8].some((aside) => {
        tag.box.x = x + aside * (across[0] ?? 0) * (tag.box.w / 2 + 4);
        tag.box.y = y + aside * (across[1] ?? 0) * (tag.box.h / 2 + 8);
        return !taken.some((box) => overlap(box, tag.box)) && !spots.some((spot) => within(spot, tag.box));
      });
      if (!free) continue;
      taken.push(tag.box);
      tags.push(tag);
    }
  }
  return [...tags, ...measured];
}

/** Says in the picture, and so in every kept or printed copy of it, that it shows a fault. */
function banner(world: World, wrong: WrongBuild): Tag {
  const { clientWidth: width, clientHeight: height } = world.canvas;
  const said = "Wrong on purpose:";
  const aside = width < 560 ? 8 : 72; // the arrow to the north stands there where there is room
  // What was done, where there is room for it; else the trade's word, which is shorter.
  const lines = [[`${said} ${wrong.wrong}`], [said, wrong.wrong], [`${said} ${wrong.title}`]]
    .find((tried) => tried.every((text) => wide(text) + 18 + aside < width)) ?? [said, wrong.title];
  const w = 18 + Math.max(...lines.map(wide));
  const h = 8 + 1.3 * em() * lines.length;
  return { box: { x: Math.max(aside, (width - w) / 2), y: height - h - 8, w, h }, lines, from: null, round: false, kind: "alarm" };
}

interface Spot { at: [number, number]; laid: boolean; text: string }

function layerTags(world: World, place: Place, state: State): Tag[] {
  const { clientWidth: width, clientHeight: height } = world.canvas;
  const narrow = width < 560;
  const spots = world.seenLayers(place.id);
  const found: Spot[] = [];
  for (const layer of place.layers) {
    if (state.hidden.includes(layer.number) || (state.step > 0 && layer.number > state.step)) continue;
    const spot = spots.get(layer.number);
    const at = spot && world.pixel(spot);
    const laid = layer.number === state.step || state.picked === `${place.id}.${layer.number}`;
    if (at) found.push({ at, laid, text: narrow ? String(layer.number) : `${layer.number} ${layer.name}` });
  }
  const tags: Tag[] = [];
  const middle = found.length ? found.reduce((sum, f) => sum + f.at[0], 0) / found.length : width / 2;
  const high = narrow ? 26 : tall();
  const broad = (text: string): number => (narrow ? 26 : 18 + wide(text));
  // A spot that its own words would cover is named from the other side.
  const onLeft = (f: Spot): boolean => {
    const room = broad(f.text) + 24;
    if (f.at[0] < room) return false;
    return f.at[0] > width - room || f.at[0] < middle;
  };
  const foot = state.wrong ? 1.3 * em() * 2 + 16 : 0;
  const range = (left: boolean): [number, number] => [
    narrow || !left ? 62 : 8, height - high - Math.max(foot, left && !narrow ? 96 : 8),
  ];
  const sides = new Map([true, false].map((left) => [left, found.filter((f) => onLeft(f) === left)]));
  // What does not fit on one side goes to the other, that nearest the middle first.
  for (const left of [true, false]) {
    const [mine = [], other = []] = [sides.get(left), sides.get(!left)];
    const room = (of: boolean): number => Math.floor((range(of)[1] - range(of)[0]) / (high + 6)) + 1;
    mine.sort((a, b) => (left ? a.at[0] - b.at[0] : b.at[0] - a.at[0]));
    while (mine.length > room(left) && other.length < room(!left)) other.push(...mine.splice(-1));
  }
  for (const left of [true, false]) {
    const side = (sides.get(left) ?? []).sort((a, b) => a.at[1] - b.at[1]);
    const [least, most] = range(left);
    const step = Math.min(high + 6, Math.max(high, (most - least) / Math.max(1, side.length - 1)));
    const tops = spread(side.map((f) => f.at[1] - high / 2), step, least, most);
    const column = side.map((f, k) => {
      const w = broad(f.text);
      const box = { x: left ? 10 : width - w - 10, y: tops[k] ?? 0, w, h: high };
      return { box, lines: [f.text], from: f.at, round: narrow, kind: f.laid ? "picked" : "layer" };
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

function houseTags(world: World, data: PageData, variant: Variant, state: State): Tag[] {
  const tags: Tag[] = [];
  const narrow = world.canvas.clientWidth < 560;
  // Words keep off the way of the water.
  const water = variant.water.flatMap((path) => path.points.slice(1).flatMap((to, at): Leg[] => {
    const [p, q] = [world.pixel(world.at(path.points[at] ?? to)), world.pixel(world.at(to))];
    return p && q ? [[p, q]] : [];
  }));
  const planes = [...variant.measure.planes].sort((a, b) => b.area_m2 - a.area_m2);
  // One warning for all ways of the water, on the first that leaves it room.
  const count = variant.water.length;
  const warning = `Water goes back up${narrow ? "" : " under the shingles"}${count > 1 ? `: ${count} places` : ""}`;
  for (const path of variant.water) {
    const turn = path.points[3];
    if (turn && !tags.length) tryTag(world, tags, turn, [warning], "alarm", "", water, []);
  }
  for (const plane of planes) {
    if (variant.water.some((path) => path.plane === plane.id)) continue;
    const called = data.names[plane.id]?.short ?? plane.id;
    const size = area(plane.area_m2, state.units);
    const kind = plane.kind === "low" ? "Nearly flat" : "Steep";
    const lines = narrow
      ? [...(plane.kind === "low" ? [kind] : wide(called) < 130 ? [called] : []), size]
      : [called, `${kind} ${pitch(plane.pitch, plane.slope_deg, state.units).split(" (")[0] ?? ""} · ${size}`];
    const ring = plane.outline.map((spot) => world.pixel(world.at(spot))).filter((spot) => spot !== null);
    tryTag(world, tags, middleOf(plane.outline), lines, plane.kind === "low" ? "plane low" : "plane", plane.id, water, ring);
  }
  const edge = variant.measure.edges.find((known) => known.id === state.picked);
  const [a, b] = edge ? shownEnds(edge) : [];
  if (edge && a && b) {
    const spot = [0, 1, 2].map((k) => ((a[k] ?? 0) + (b[k] ?? 0)) / 2);
    tryTag(world, tags, spot, [length(edge.length_m, state.units)], "picked", "", water);
  }
  return tags;
}

function boundsOf(ring: [number, number][]): Box {
  const reach = (k: 0 | 1): [number, number] => [Math.min(...ring.map((p) => p[k])), Math.max(...ring.map((p) => p[k]))];
  const [[x0, x1], [y0, y1]] = [reach(0), reach(1)];
  return ring.length ? { x: x0, y: y0, w: x1 - x0, h: y1 - y0 } : { x: 0, y: 0, w: 0, h: 0 };
}

/** Where the buttons over the picture are. */
function toolBox(world: World): Box {
  const [tools, view] = [document.getElementById("tools"), world.canvas].map((part) => part?.getBoundingClientRect());
  return tools && view ? { x: tools.x - view.x, y: tools.y - view.y, w: tools.width, h: tools.height } : { x: 0, y: 0, w: 0, h: 0 };
}

/** Set words on a spot, or, where they would hide what they name, in the sky with a leader to it. */
function tryTag(
  world: World, tags: Tag[], spot: number[], lines: string[], kind: string, plane: string, water: Leg[], ring?: [number, number][],
): void {
  const pixel = world.pixel(world.at(spot));
  if (!pixel) return;
  const first = world.ray(pixel[0], pixel[1], world.house.children);
  if (plane && first && first.object.userData["id"] !== plane) return;
  const w = 16 + Math.max(...lines.map(wide));
  const h = 8 + Math.round(1.3 * em() * lines.length);
  const { clientWidth: width, clientHeight: height } = world.canvas;
  const tools = toolBox(world);
  const fits = (box: Box): boolean => !overlap(tools, box) && box.x >= 2 && box.y >= 2 && box.x + w <= width - 2 && box.y + h <= height - 2
    && !tags.some((tag) => overlap(tag.box, box) || (tag.from && within(tag.from, box)))
    && !tags.some((tag) => tag.from && passes(box, tag.from, end(tag)))
    && !water.some(([p, q]) => touches(p, q, box));
  const reach = (k: 0 | 1): number => (ring?.length ? Math.max(...ring.map((p) => p[k])) - Math.min(...ring.map((p) => p[k])) : 0);
  const here = { x: pixel[0] - w / 2, y: pixel[1] - h / 2, w, h };
  if (!ring || (reach(0) > 1.15 * w && reach(1) > 1.5 * h)) {
    if (fits(here)) tags.push({ box: here, lines, from: null, round: false, kind });
    return;
  }
  const roof = world.top();
  for (let row = 0; row < 3; row++) {
    const y = Math.min(roof, pixel[1]) - 18 - h - row * (h + 8);
    for (const aside of [0, -0.6, 0.6, -1.2, 1.2]) {
      const box = { x: Math.min(Math.max(8, here.x + aside * w), width - w - 8), y, w, h };
      if (y < 62 || !fits(box)) continue;
      const end: [number, number] = [box.x + w / 2, y + h];
      if (tags.some((tag) => (tag.from && crosses(tag.from, foot(tag), pixel, end)) || passes(tag.box, pixel, end))) continue;
      if (kind !== "alarm" && water.some(([p, q]) => crosses(p, q, pixel, end))) continue;
      tags.push({ box, lines, from: pixel, round: false, kind });
      return;
    }
  }
  // What must be said and found no room in the sky stands beside what it names.
  const own = boundsOf(ring);
  const named = tags.some((tag) => tag.kind === "plane low");
  const must = kind === "alarm" || (kind === "plane low" && (!named || width >= 560));
  for (let round = 1; must && round < 9; round++) {
    for (let turn = 0; turn < 8; turn++) {
      const [right, down] = [Math.sin((turn * Math.PI) / 4), Math.cos((turn * Math.PI) / 4)];
      const box = { x: here.x + right * (w / 2 + 16 * round), y: here.y + down * (h / 2 + 16 * round), w, h };
      const tag: Tag = { box, lines, from: pixel, round: false, kind };
      if (!fits(box) || overlap(own, box) || box.y < 62) continue;
      if (tags.some((known) => passes(known.box, pixel, end(tag)) || (known.from && crosses(known.from, end(known), pixel, end(tag))))) continue;
      if (water.some(([p, q]) => crosses(p, q, pixel, end(tag)))) continue;
      tags.push(tag);
      return;
    }
  }
  // The nearly flat part is named in any case: it is what the page is about.
  if (must && !named && fits(here)) tags.push({ box: here, lines, from: null, round: false, kind });
}

const within = (p: [number, number], box: Box): boolean => p[0] > box.x && p[0] < box.x + box.w && p[1] > box.y && p[1] < box.y + box.h;
/** Whether a stretch of the water, with its arrows, comes near a box. */
const touches = (p: [number, number], q: [number, number], box: Box): boolean => {
  const near = 8 + 0.08 * Math.min(400, Math.hypot(p[0] - q[0], p[1] - q[1]));
  const room = { x: box.x - near, y: box.y - near, w: box.w + 2 * near, h: box.h + 2 * near };
  return within(p, room) || within(q, room) || passes(room, p, q);
};
const foot = (tag: Tag): [number, number] => [tag.box.x + tag.box.w / 2, tag.box.y + tag.box.h];
const passes = ({ x, y, w, h }: Box, p: [number, number], q: [number, number]): boolean =>
  crosses([x, y], [x + w, y + h], p, q) || crosses([x + w, y], [x, y + h], p, q);

/** Where a leader reaches its words. */
function end(tag: Tag): [number, number] {
  const [x] = tag.from ?? [0, 0];
  const { box } = tag;
  if (tag.kind.startsWith("plane") || tag.kind === "alarm") return tag.from && tag.from[1] < box.y ? [box.x + box.w / 2, box.y] : foot(tag);
  return [x < box.x ? box.x : box.x + box.w, box.y + box.h / 2];
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
    const box = { x: (p[0] + q[0]) / 2 - w / 2, y: (p[1] + q[1]) / 2 - tall() / 2, w, h: tall() };
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
    const [x2, y2] = end(tag);
    nodes.push(
      svg("line", { x1: tag.from[0], y1: tag.from[1], x2, y2, class: "halo" }),
      svg("line", { x1: tag.from[0], y1: tag.from[1], x2, y2, class: "leader" }),
      svg("circle", { cx: tag.from[0], cy: tag.from[1], r: 3.5, class: "end" }),
    );
  }
  for (const tag of tags) {
    const { x, y, w, h } = tag.box;
    nodes.push(svg("rect", { x, y, width: w, height: h, rx: tag.round ? h / 2 : 5, class: `plate ${tag.kind.split(":")[0]}` }));
    tag.lines.forEach((line, at) => {
      const words = svg("text", { x: x + w / 2, y: y + h / 2 + 1.3 * em() * (at - (tag.lines.length - 1) / 2) + 0.36 * em(), class: tag.kind === "alarm" ? "words alarm" : "words" });
      words.textContent = line;
      nodes.push(words);
    });
  }
  fill(overlay, ...nodes);
  const boxes = tags.map((tag) => tag.box);
  let over = 0;
  boxes.forEach((box, at) => boxes.slice(at + 1).forEach((other) => { if (overlap(box, other)) over++; }));
  overlay.dataset["overlaps"] = String(over);
  overlay.dataset["covered"] = String(tags.filter((tag) => tag.from && boxes.some((box) => within(tag.from ?? [0, 0], box))).length);
  overlay.dataset["labels"] = String(tags.length);
}

/** Draw the same words with a canvas brush, for a picture that is kept or printed. */
export function paintTags(brush: CanvasRenderingContext2D, tags: Tag[]): void {
  brush.font = font();
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
    if (!tag.from) continue;
    line(tag.from[0], tag.from[1], ...end(tag));
    brush.fillStyle = "#222222";
    brush.beginPath(); brush.arc(tag.from[0], tag.from[1], 3.5, 0, 7); brush.fill();
  }
  for (const { box, lines, kind } of tags) {
    brush.fillStyle = kind === "alarm" ? "#fbe9e6" : "rgba(255,255,255,.94)";
    brush.strokeStyle = kind === "alarm" ? "#8c1d18" : "#333333";
    brush.lineWidth = 1;
    brush.beginPath(); brush.roundRect(box.x, box.y, box.w, box.h, 5); brush.fill(); brush.stroke();
    brush.fillStyle = "#161616";
    lines.forEach((text, at) => brush.fillText(text, box.x + box.w / 2, box.y + box.h / 2 + 1.3 * em() * (at - (lines.length - 1) / 2)));
  }
}
