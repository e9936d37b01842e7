// The tape: two taps give distance and rise, a chain on one plane gives its area.
import type { Vector3 } from "three";
import type { Units } from "./data";
import { tall, wide, type Tag } from "./labels";
import { area, length } from "./units";
import type { World } from "./world";

export type TapeMode = "distance" | "area";

export class Tape {
  mode: TapeMode = "distance";
  points: Vector3[] = [];
  plane = "";
  says = "";

  clear(): void { this.points = []; this.plane = ""; this.says = ""; }

  add(point: Vector3, plane: string): void {
    this.says = "";
    if (this.mode === "distance" && this.points.length === 2) this.points = [];
    if (this.mode === "area") {
      if (this.points.length && plane !== this.plane) {
        this.says = "A chain stays on one plane: tap on the plane you began on, or start again.";
        return;
      }
      this.plane = plane;
    }
    this.points.push(point);
  }

  distance(): { along: number; rise: number; level: number } | null {
    const [a, b] = this.points;
    if (this.mode !== "distance" || !a || !b) return null;
    return { along: a.distanceTo(b), rise: Math.abs(b.y - a.y), level: Math.hypot(b.x - a.x, b.z - a.z) };
  }

  area(): number | null {
    const [first] = this.points;
    if (this.mode !== "area" || this.points.length < 3 || !first) return null;
    const sum = first.clone().set(0, 0, 0);
    for (let k = 1; k + 1 < this.points.length; k++) {
      const [b, c] = [this.points[k], this.points[k + 1]];
      if (b && c) sum.add(b.clone().sub(first).cross(c.clone().sub(first)));
    }
    return sum.length() / 2;
  }

  tags(world: World, units: Units): Tag[] {
    const tags: Tag[] = [];
    const pixels = this.points.map((point) => world.pixel(point));
    const legs: [number, number][] = this.points.slice(1).map((_, k) => [k, k + 1]);
    if (this.mode === "area" && this.points.length > 2) legs.push([this.points.length - 1, 0]);
    for (const [i, j] of legs) {
      const [p, q, a, b] = [pixels[i], pixels[j], this.points[i], this.points[j]];
      if (!p || !q || !a || !b) continue;
      const text = length(a.distanceTo(b), units);
      const w = 14 + wide(text);
      tags.push({
        box: { x: (p[0] + q[0]) / 2 - w / 2, y: (p[1] + q[1]) / 2 - tall() / 2, w, h: tall() },
        lines: [text], from: null, round: false, kind: `size:${p.join(",")}:${q.join(",")}`,
      });
    }
    if (this.points.length === 1 && pixels[0]) {
      const [x, y] = pixels[0];
      tags.push({ box: { x: x + 10, y: y - tall() - 8, w: 16 + wide("from here"), h: tall() }, lines: ["from here"], from: [x, y], round: false, kind: "tape" });
    }
    return tags;
  }

  words(units: Units): [string, string][] {
    const found = this.distance();
    if (found) {
      return [
        ["True distance", length(found.along, units)],
        ["Rise", length(found.rise, units)],
        ["Level distance", length(found.level, units)],
      ];
    }
    const size = this.area();
    return size === null ? [] : [["Area on the plane", area(size, units)]];
  }
}
