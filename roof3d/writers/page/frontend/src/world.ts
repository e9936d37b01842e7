// The house and its joints in space: what is there, how it looks, what lies under a finger.
import {
  AmbientLight, BufferAttribute, BufferGeometry, Color, DirectionalLight, DoubleSide, Float32BufferAttribute, Group,
  HemisphereLight, LineBasicMaterial, LineSegments, Material, Mesh, MeshBasicMaterial, MeshLambertMaterial, Object3D, PerspectiveCamera,
  Raycaster, Scene, Vector2, Vector3, WebGLRenderer, WebGLRenderTarget,
} from "three";
import { GLTFLoader } from "three/examples/jsm/loaders/GLTFLoader.js";
import { LineMaterial } from "three/examples/jsm/lines/LineMaterial.js";
import { LineSegments2 } from "three/examples/jsm/lines/LineSegments2.js";
import { LineSegmentsGeometry } from "three/examples/jsm/lines/LineSegmentsGeometry.js";
import type { MeasuredEdge, PageData, Place, Point3, Variant, WrongBuild } from "./data";
import { em } from "./labels";
import { unpacked } from "./packed";
import { chosen, layerMix, massing, patterned, PATTERNS, stroke, tile } from "./paint";
import { roleOf } from "./panels/house";
import type { State } from "./state";
import { toned } from "./tones";

export interface Hit { kind: "plane" | "edge" | "opening" | "layer" | "other"; id: string; layer: number; point: Vector3 }
interface LayerPart { mesh: Mesh; layer: number; kind: string; material: string; nth: number; wrong: string }
interface Joint { place: Place; group: Object3D; parts: LayerPart[] }

/** Read what was packed as GLB. */
export async function read(packed: string): Promise<Group> {
  const plain = await unpacked(packed);
  return (await new GLTFLoader().parseAsync(plain.buffer as ArrayBuffer, "")).scene;
}

export class World {
  readonly scene = new Scene();
  readonly camera = new PerspectiveCamera(30, 1, 0.05, 2000);
  readonly renderer: WebGLRenderer;
  readonly house = new Group();
  private readonly edges = new Group();
  private readonly marks = new Group();
  private readonly courses = new Group();
  private readonly surfaces: Mesh[] = [];
  private readonly joints = new Map<string, Joint>();
  private readonly sun = new DirectionalLight(0xffffff, 2.1);
  private origin = new Vector3();
  private root: Object3D = new Group();
  private painted = "";
  private frame = 0;
  private after: (() => void)[] = [];
  /** Milliseconds that the last frame took. */
  lastFrame = 0;
  frames = 0;

  constructor(private readonly data: PageData, readonly canvas: HTMLCanvasElement) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
    this.scene.add(new HemisphereLight(0xffffff, 0xb8ab94, 1.2), new AmbientLight(0xffffff, 0.35), this.sun, this.sun.target);
  }

  async load(packed: string): Promise<void> {
    this.take(await read(packed));
    this.scene.add(this.edges, this.courses, this.marks);
  }

  /** Take a house in place of the one there was and of all its joints, or a joint in place of its like. */
  take(found: Group): void {
    const root = found.getObjectByProperty("name", "roof3d") ?? found;
    const building = root.children.find((child) => child.userData["kind"] === "building");
    if (building) {
      this.drop([...this.surfaces, ...[...this.joints.values()].flatMap((joint) => [joint.group])]);
      this.surfaces.length = 0;
      this.joints.clear();
      this.outer = [];
      this.painted = "";
      const origin = (root.userData["origin_m"] as Point3 | undefined) ?? [0, 0, 0];
      this.origin.set(...origin);
      this.takeHouse(building);
      this.root.removeFromParent();
      this.root = root;
      this.scene.add(root);
      root.add(this.house);
    }
    for (const child of [...root.children]) if (child.userData["kind"] === "place") this.takeJoint(child);
  }

  /** Leave what is old; a frame later, so that what it shares with the new need not be made again. */
  private drop(old: Object3D[]): void {
    for (const part of old) part.removeFromParent();
    this.after.push(() => { for (const part of old) part.traverse(dispose); });
  }

  private takeHouse(group: Object3D): void {
    for (const child of [...group.children]) {
      if (!(child instanceof Mesh)) continue;
      child.geometry.computeVertexNormals();
      this.house.add(child);
      this.surfaces.push(child);
    }
  }

  private takeJoint(group: Object3D): void {
    const id = String(group.userData["id"]);
    const place = this.data.places.find((known) => known.id === id);
    if (!place) return;
    const parts: LayerPart[] = [];
    let sheets = 0;
    const along = new Vector3(...place.along);
    for (const child of group.children) {
      if (!(child instanceof Mesh)) continue;
      const kind = String(child.userData["kind"]);
      const layer = Number(child.userData["layer"]);
      const wrong = String(child.userData["wrong"] ?? "");
      const twin = parts.find((part) => wrong && part.layer === layer && part.kind === kind);
      const nth = kind !== "sheet" ? 0 : twin ? twin.nth : sheets++;
      child.material = patterned(kind === "sheet" ? 1 + (nth % (PATTERNS - 1)) : 0, along);
      parts.push({ mesh: child, layer, kind, material: String(child.userData["material"]), nth, wrong });
    }
    group.visible = false;
    this.root.add(group);
    this.drop([this.joints.get(id)?.group].filter((old) => old !== undefined));
    this.joints.set(id, { place, group, parts });
    this.toned.look = "";
  }

  /** A point of the model (z up) in the page's space (y up). */
  at(point: Point3 | number[]): Vector3 {
    const [x = 0, y = 0, z = 0] = point;
    return new Vector3(x - this.origin.x, z - this.origin.z, -(y - this.origin.y));
  }

  model(point: Vector3): Point3 {
    return [point.x + this.origin.x, -point.z + this.origin.y, point.y + this.origin.z];
  }

  /** Make everything look as the state says. */
  async show(state: State, variant: Variant): Promise<void> {
    this.settle();
    const inJoint = this.joints.has(state.place);
    this.house.visible = !inJoint;
    this.courses.visible = !inJoint;
    const look = [variant.id, state.shingle, state.granule, state.metal, state.hip].join();
    if (look !== this.painted) {
      this.painted = look;
      this.paintHouse(state, variant);
      this.drawEdges(variant);
      this.drawCourses(variant).then(() => this.render(), () => undefined);
    }
    for (const child of this.edges.children) {
      const line = child as LineSegments2;
      line.material.opacity = inJoint ? 0.18 : 1;
      line.material.transparent = inJoint;
    }
    for (const [id, joint] of this.joints) {
      joint.group.visible = id === state.place;
      if (joint.group.visible) this.showJoint(joint, state);
    }
    this.drawMarks(state, variant);
    this.render();
  }

  private showJoint(joint: Joint, state: State): void {
    const wrong = joint.place.wrong.find((known) => known.name === state.wrong);
    const tones = this.tonesOf(joint.place.id, state);
    for (const part of joint.parts) {
      const layer = joint.place.layers.find((known) => known.number === part.layer);
      const lift = layer?.lift ?? [0, 0, 0];
      part.mesh.position.set(lift[0] * state.lift, lift[1] * state.lift, lift[2] * state.lift);
      const laid = state.step === 0 || part.layer <= state.step;
      const built = part.wrong ? part.wrong === wrong?.name
        : !wrong?.replaced.includes(`${part.layer}/${part.kind}`) && !wrong?.missing.includes(part.layer);
      part.mesh.visible = built && laid && !state.hidden.includes(part.layer);
      const material = part.mesh.material as MeshLambertMaterial;
      material.color.set(tones.get(`${part.layer}/${part.kind}`) ?? "#999999");
      const picked = state.picked === `${joint.place.id}.${part.layer}`;
      material.emissive.set(picked ? "#5a3a00" : "#000000");
    }
  }

  /** The colour of each part of a joint, `layer/kind`: as chosen, neighbours told apart. */
  tonesOf(id: string, state: State): Map<string, string> {
    const joint = this.joints.get(id);
    const look = [id, state.shingle, state.granule, state.metal, state.hip].join();
    if (!joint) return new Map();
    if (this.toned.look === look) return this.toned.tones;
    const parts = new Map(joint.parts.map((part) => [`${part.layer}/${part.kind}`, part]));
    this.toned = { look, tones: toned([...parts].map(([key, part]) => ({
      key,
      hex: layerMix(part.kind, part.material, part.nth, this.data, state).colour,
      dear: part.kind === "shingle" ? 4 : part.kind === "sheet" ? 1 : 2,
      beside: joint.place.beside.flatMap(([a, b]) => (a === key ? [b] : b === key ? [a] : [])),
    }))) };
    return this.toned.tones;
  }
  private toned: { look: string; tones: Map<string, string> } = { look: "", tones: new Map() };

  private paintHouse(state: State, variant: Variant): void {
    const kinds = new Map(variant.assemblies.map((carried) => [carried.plane, carried.kind]));
    const shingle = chosen(this.data, state, "shingle");
    const granule = chosen(this.data, state, "granule");
    const steep = tile({ colour: shingle.hex, blend: shingle.blend }, "shingle", false);
    const low = tile({ colour: granule.hex, blend: granule.blend }, "grain", true);
    for (const mesh of this.surfaces) {
      const id = String(mesh.userData["id"]);
      const kind = String(mesh.userData["kind"]);
      shed(mesh);
      const carried = kinds.get(id);
      const frame = variant.courses.find((lines) => lines.plane === id);
      if (carried) {
        if (frame) unwrap(mesh, frame.along, frame.up, this.at([0, 0, 0]));
        mesh.material = offset(new MeshLambertMaterial({
          map: carried === "shingle" ? steep : low, side: DoubleSide, flatShading: true,
        }));
      } else {
        const colour = kind === "low_plane" || kind === "steep_plane" ? granule.hex : massing(kind);
        mesh.material = offset(new MeshLambertMaterial({ color: colour, side: DoubleSide, flatShading: true }));
      }
    }
  }

  private drawEdges(variant: Variant): void {
    this.drop([...this.edges.children]);
    const byRole = new Map<string, number[]>();
    for (const edge of variant.measure.edges) {
      const [a, b] = [edge.ends[0], edge.ends[edge.ends.length - 1]];
      if (!a || !b) continue;
      const role = roleOf(edge);
      const list = byRole.get(role) ?? [];
      list.push(...this.at(a).toArray(), ...this.at(b).toArray());
      byRole.set(role, list);
    }
    for (const [role, points] of byRole) this.edges.add(this.fat(points, stroke(role), role));
  }

  private fat(points: number[], look: { colour: string; width: number; dash: number }, name: string): LineSegments2 {
    const geometry = new LineSegmentsGeometry();
    geometry.setPositions(points);
    const material = new LineMaterial({
      color: look.colour, linewidth: (look.width * em()) / 13, dashed: look.dash > 0, dashSize: look.dash, gapSize: look.dash * 0.6,
    });
    const line = new LineSegments2(geometry, material);
    if (look.dash > 0) line.computeLineDistances();
    line.name = name;
    return line;
  }

  private async drawCourses(variant: Variant): Promise<void> {
    for (const old of this.courses.children) old.visible = false;
    const made: LineSegments[] = [];
    for (const lines of variant.courses) {
      const bytes = await unpacked(lines.segments);
      const counted = new Int16Array(bytes.buffer, bytes.byteOffset, bytes.byteLength >> 1);
      const positions = new Float32Array((counted.length / 2) * 3);
      const [o, u, v] = [this.at(lines.origin), this.turned(lines.along), this.turned(lines.up)];
      const up = new Vector3().crossVectors(u, v).multiplyScalar(0.004);
      for (let at = 0; at < counted.length / 2; at++) {
        const [a, b] = [(counted[2 * at] ?? 0) * lines.step_m, (counted[2 * at + 1] ?? 0) * lines.step_m];
        positions[3 * at] = o.x + a * u.x + b * v.x + up.x;
        positions[3 * at + 1] = o.y + a * u.y + b * v.y + up.y;
        positions[3 * at + 2] = o.z + a * u.z + b * v.z + up.z;
      }
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(positions, 3));
      made.push(new LineSegments(geometry, new LineBasicMaterial({ color: 0x1a1a1a, transparent: true, opacity: 0.38 })));
    }
    this.drop([...this.courses.children]);
    this.courses.add(...made);
  }

  private turned(vector: Point3): Vector3 { return new Vector3(vector[0], vector[2], -vector[1]); }

  private drawMarks(state: State, variant: Variant): void {
    this.drop([...this.marks.children]);
    if (state.place === "") {
      const edge = variant.measure.edges.find((known) => known.id === state.picked);
      if (edge) {
        const ends = shownEnds(edge).flatMap((p) => this.at(p).toArray());
        const mark = this.fat(ends, { colour: "#ffb000", width: 9, dash: 0 }, "picked");
        this.marks.add(mark);
      }
      const plane = variant.measure.planes.find((known) => known.id === state.picked);
      if (plane) {
        for (const ring of [plane.outline, ...plane.holes]) this.marks.add(this.ringOf(ring, "#ffb000", 6));
      }
      const rim = this.rimOf(state.picked, variant);
      if (rim.length) this.marks.add(this.ringOf(rim, "#ffb000", 5, true));
      for (const path of variant.water) this.marks.add(...this.pathOf(path.points));
    } else {
      const place = this.data.places.find((known) => known.id === state.place);
      const wrong = place?.wrong.find((known) => known.name === state.wrong);
      if (wrong) this.marks.add(...this.pathOf(waterOf(wrong, state.lift)));
    }
    this.marks.children.forEach((mark, at) => { mark.renderOrder = 5 + at; });
  }

  /** A ring round what goes through the roof, a frame round a hole in a wall. */
  private rimOf(id: string, variant: Variant): Point3[] {
    const scupper = variant.measure.scuppers.find((known) => known.id === id);
    const edge = variant.measure.edges.find((known) => known.id === scupper?.edge);
    const [a, b] = edge ? [edge.ends[0], edge.ends[edge.ends.length - 1]] : [];
    if (scupper && a && b) {
      const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
      const [half, [x, y, z]] = [scupper.width_m / 2 / long, scupper.place];
      return [[-half, 0], [half, 0], [half, scupper.height_m], [-half, scupper.height_m]]
        .map(([t = 0, up = 0]) => [x + t * (b[0] - a[0]), y + t * (b[1] - a[1]), z + up]);
    }
    if (!variant.measure.openings.some((known) => known.id === id)) return [];
    const spots = this.corners("", [id]).map((spot) => this.model(spot));
    if (!spots.length) return [];
    const reach = (k: 0 | 1 | 2): [number, number] => [Math.min(...spots.map((p) => p[k])), Math.max(...spots.map((p) => p[k]))];
    const [x, y, z] = [reach(0), reach(1), reach(2)];
    const size = Math.hypot(x[1] - x[0], y[1] - y[0]) / 2 + 0.1;
    return Array.from({ length: 24 }, (_, k) => {
      const turn = (k / 12) * Math.PI;
      return [(x[0] + x[1]) / 2 + size * Math.cos(turn), (y[0] + y[1]) / 2 + size * Math.sin(turn), (z[0] + z[1]) / 2];
    });
  }

  private ringOf(ring: Point3[], colour: string, width: number, before = false): LineSegments2 {
    const points = ring.flatMap((point, at) => [
      ...this.at(point).toArray(), ...this.at(ring[(at + 1) % ring.length] ?? point).toArray(),
    ]);
    const line = this.fat(points, { colour, width, dash: 0 }, "picked");
    line.material.depthTest = !before;
    return line;
  }

  /** The way of water: blue on white, before everything, with arrows along it. */
  private pathOf(path: Point3[]): LineSegments2[] {
    const spots = path.map((point) => this.at(point));
    const legs = spots.slice(1).map((spot, at) => [spots[at] ?? spot, spot] as const).filter(([a, b]) => a.distanceTo(b) > 1e-3);
    const whole = legs.reduce((sum, [a, b]) => sum + a.distanceTo(b), 0);
    const points = legs.flatMap(([a, b]) => [...a.toArray(), ...b.toArray()]);
    const size = whole / 22;
    let gone = 0;
    let next = whole / 4;
    legs.forEach(([a, b], at) => {
      gone += a.distanceTo(b);
      if (gone < next && at + 1 < legs.length) return;
      next = gone + whole / 4;
      const way = b.clone().sub(a).normalize();
      const side = new Vector3().crossVectors(way, new Vector3(0, 1, 0));
      if (side.lengthSq() < 0.01) side.set(1, 0, 0);
      side.normalize();
      for (const hand of [-0.6, 0.6]) {
        points.push(...b.toArray(), ...b.clone().addScaledVector(way, -size).addScaledVector(side, hand * size).toArray());
      }
    });
    const slim = this.canvas.clientWidth < 560;
    return [["#ffffff", slim ? 5 : 8], ["#0b63ce", slim ? 3 : 4.5]].map(([colour, width]) => {
      const line = this.fat(points, { colour: String(colour), width: Number(width), dash: 0 }, "water");
      line.material.depthTest = false;
      line.material.transparent = true;
      return line;
    });
  }

  resize(width: number, height: number, ratio: number): void {
    this.renderer.setPixelRatio(ratio);
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / Math.max(1, height);
    this.camera.updateProjectionMatrix();
    this.render();
  }

  /** Draw once, at the next frame; `then` runs after it. */
  render(then?: () => void): void {
    if (then) this.after.push(then);
    if (this.frame) return;
    this.frame = requestAnimationFrame(() => {
      this.frame = 0;
      this.draw();
    });
  }

  draw(): void {
    const began = performance.now();
    this.sun.position.copy(this.camera.position).add(
      new Vector3(-0.5, 0.9, 0.25).applyQuaternion(this.camera.quaternion).multiplyScalar(this.camera.position.length() + 5));
    this.renderer.render(this.scene, this.camera);
    this.lastFrame = performance.now() - began;
    this.frames++;
    document.body.dataset["frames"] = String(this.frames);
    const waiting = this.after;
    this.after = [];
    for (const then of waiting) then();
  }

  /** Corners of what is to be seen: of a joint, of some planes, or of the house. */
  corners(place: string, planes: string[] = []): Vector3[] {
    this.scene.updateMatrixWorld(true);
    const meshes = place ? this.partsOf(place)
      : this.surfaces.filter((mesh) => !planes.length || planes.includes(String(mesh.userData["id"])));
    const found: Vector3[] = [];
    for (const mesh of meshes) {
      const spots = mesh.geometry.getAttribute("position");
      for (let at = 0; at < spots.count; at++) found.push(new Vector3().fromBufferAttribute(spots, at).applyMatrix4(mesh.matrixWorld));
    }
    return found;
  }

  /** What is seen at a place of the canvas, in its own pixels. */
  hit(x: number, y: number, near: number, state: State, variant: Variant): Hit | null {
    const found = this.ray(x, y, state.place ? this.partsOf(state.place) : this.surfaces);
    if (state.place) {
      const part = found && this.joints.get(state.place)?.parts.find((known) => known.mesh === found.object);
      return part && found ? { kind: "layer", id: `${state.place}.${part.layer}`, layer: part.layer, point: found.point } : null;
    }
    const scupper = near < 0 ? undefined : variant.measure.scuppers.find((known) => {
      const pixel = this.pixel(this.at(known.place));
      return pixel && Math.hypot(pixel[0] - x, pixel[1] - y) < near + 6;
    });
    if (scupper) return { kind: "opening", id: scupper.id, layer: 0, point: this.at(scupper.place) };
    const edge = this.edgeNear(x, y, near, variant);
    if (edge) return { kind: "edge", id: edge.id, layer: 0, point: edge.point };
    if (!found) return null;
    const id = String(found.object.userData["id"]);
    if (variant.measure.planes.some((plane) => plane.id === id)) return { kind: "plane", id, layer: 0, point: found.point };
    if (variant.measure.openings.some((opening) => opening.id === id)) return { kind: "opening", id, layer: 0, point: found.point };
    const parapet = near < 0 ? "" : this.parapetAt(id, found.point, variant);
    if (parapet) return { kind: "edge", id: parapet, layer: 0, point: found.point };
    return { kind: "other", id, layer: 0, point: found.point };
  }

  /** How far up the picture the house reaches, pixels from its top. */
  top(): number {
    if (!this.outer.length) this.outer = this.corners("");
    return Math.min(...this.outer.map((corner) => this.pixel(corner)?.[1] ?? this.canvas.clientHeight));
  }
  private outer: Vector3[] = [];

  /** The edge whose parapet stands where a finger is: its coping, its top, or its wall above the roof. */
  private parapetAt(id: string, point: Vector3, variant: Variant): string {
    let best = { id: "", away: 0.5 };
    for (const edge of variant.measure.edges) {
      const [a, b] = [edge.ends[0], edge.ends[edge.ends.length - 1]];
      if (!edge.parapet || !a || !b) continue;
      if (id === `${edge.id}.coping`) return edge.id;
      const [from, to] = [this.at(a), this.at(b)];
      if (point.y < Math.min(from.y, to.y) - 0.3) continue;
      const way = to.clone().sub(from);
      const t = Math.min(1, Math.max(0, point.clone().sub(from).dot(way) / way.lengthSq()));
      const near = from.addScaledVector(way, t);
      const away = Math.hypot(near.x - point.x, near.z - point.z);
      if (away < best.away) best = { id: edge.id, away };
    }
    return best.id;
  }

  partsOf(place: string): Mesh[] {
    return (this.joints.get(place)?.parts ?? []).map((part) => part.mesh).filter((mesh) => mesh.visible);
  }

  ray(x: number, y: number, meshes: Object3D[]): { object: Object3D; point: Vector3 } | null {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const caster = new Raycaster();
    caster.setFromCamera(new Vector2((2 * x) / width - 1, 1 - (2 * y) / height), this.camera);
    return caster.intersectObjects(meshes, false)[0] ?? null;
  }

  /** A point well inside what is seen of each layer; worked out anew only when `settle` was called. */
  seenLayers(place: string): Map<number, Vector3> {
    if (this.settled?.place === place) return this.settled.spots;
    const spots = new Map<number, Vector3>();
    this.settled = { place, spots };
    const joint = this.joints.get(place);
    if (!joint) return spots;
    const width = 288;
    const height = Math.max(16, Math.round((width * this.canvas.clientHeight) / Math.max(1, this.canvas.clientWidth)));
    const target = new WebGLRenderTarget(width, height);
    const kept = joint.parts.map((part) => part.mesh.material);
    // A layer is named on its own stuff: the bearing wood is no rafter and no wall beside it.
    const bare = (part: LayerPart): boolean => ["fastener", "framing", "wall"].includes(part.kind);
    const named = new Set(joint.parts.filter((part) => !bare(part)).map((part) => part.layer));
    joint.parts.forEach((part) => {
      const id = part.kind === "fastener" || (bare(part) && named.has(part.layer)) ? 0 : part.layer;
      part.mesh.material = new MeshBasicMaterial({ color: new Color(id / 255, 0, 0), side: DoubleSide, toneMapped: false });
    });
    const shown = [this.edges.visible, this.marks.visible];
    this.edges.visible = this.marks.visible = false;
    this.renderer.setRenderTarget(target);
    this.renderer.setClearColor(0x000000, 0);
    this.renderer.clear();
    this.renderer.render(this.scene, this.camera);
    const pixels = new Uint8Array(width * height * 4);
    this.renderer.readRenderTargetPixels(target, 0, 0, width, height, pixels);
    this.renderer.setRenderTarget(null);
    target.dispose();
    [this.edges.visible, this.marks.visible] = [shown[0] ?? true, shown[1] ?? true];
    joint.parts.forEach((part, k) => {
      (part.mesh.material as Material).dispose();
      part.mesh.material = kept[k] as Material;
    });
    const meshes = this.partsOf(place);
    for (const [layer, [x, y]] of innermost(pixels, width, height)) {
      const [px, py] = [((x + 0.5) / width) * this.canvas.clientWidth, (1 - (y + 0.5) / height) * this.canvas.clientHeight];
      const hit = this.ray(px, py, meshes);
      if (hit) spots.set(layer, hit.point);
    }
    return spots;
  }

  private settled: { place: string; spots: Map<number, Vector3> } | null = null;
  /** The eye or the layers have moved and rest: find the seen spots again when asked. */
  settle(): void { this.settled = null; }

  /** Where a point of space is on the canvas, in its pixels; null behind the eye. */
  pixel(point: Vector3): [number, number] | null {
    const seen = point.clone().project(this.camera);
    if (seen.z > 1) return null;
    return [((seen.x + 1) / 2) * this.canvas.clientWidth, ((1 - seen.y) / 2) * this.canvas.clientHeight];
  }

  private edgeNear(x: number, y: number, near: number, variant: Variant): { id: string; point: Vector3 } | null {
    let best: { id: string; point: Vector3; away: number } | null = null;
    for (const edge of variant.measure.edges) {
      const [a, b] = [edge.ends[0], edge.ends[edge.ends.length - 1]];
      if (!a || !b) continue;
      const [from, to] = [this.at(a), this.at(b)];
      const [p, q] = [this.pixel(from), this.pixel(to)];
      if (!p || !q) continue;
      const long = (q[0] - p[0]) ** 2 + (q[1] - p[1]) ** 2;
      const t = long ? Math.min(1, Math.max(0, ((x - p[0]) * (q[0] - p[0]) + (y - p[1]) * (q[1] - p[1])) / long)) : 0;
      const away = Math.hypot(p[0] + t * (q[0] - p[0]) - x, p[1] + t * (q[1] - p[1]) - y);
      if (away > near || (best && away >= best.away)) continue;
      const point = from.lerp(to, t);
      if (this.hidden(point)) continue;
      best = { id: edge.id, point, away };
    }
    return best;
  }

  /** Whether the house stands before a point. */
  private hidden(point: Vector3): boolean {
    const pixel = this.pixel(point);
    if (!pixel) return true;
    const first = this.ray(pixel[0], pixel[1], this.surfaces);
    return first !== null && this.camera.position.distanceTo(first.point) < this.camera.position.distanceTo(point) - 0.08;
  }
}

/** Give a plane's corners places on the tile: two metres a tile, rows level. */
function unwrap(mesh: Mesh, along: Point3, up: Point3, zero: Vector3): void {
  const places = mesh.geometry.getAttribute("position");
  const uv = new Float32Array(places.count * 2);
  for (let at = 0; at < places.count; at++) {
    const [x, y, z] = [places.getX(at) - zero.x, places.getY(at), places.getZ(at)];
    uv[2 * at] = (x * along[0] + y * along[1] + z * along[2]) / 2.3;
    uv[2 * at + 1] = (x * up[0] + y * up[1] + z * up[2]) / 2.3;
  }
  mesh.geometry.setAttribute("uv", new Float32BufferAttribute(uv, 2));
}

/** Ends of an edge where it is seen: a parapet at its top. */
export function shownEnds(edge: MeasuredEdge): Point3[] {
  const [a, b] = [edge.ends[0], edge.ends[edge.ends.length - 1]];
  const top = edge.parapet?.top_m;
  return [a, b].flatMap((p) => (p ? [top === undefined ? p : ([p[0], p[1], top] as Point3)] : []));
}

/** The way of the water at a joint, its layers lifted apart. */
export function waterOf(wrong: WrongBuild, lift: number): Point3[] {
  return wrong.path.map((point, at) => point.map((value, k) => value + lift * (wrong.lifts[at]?.[k] ?? 0)) as Point3);
}

function offset<M extends Material>(material: M): M {
  material.polygonOffset = true;
  material.polygonOffsetFactor = 1;
  material.polygonOffsetUnits = 2;
  return material;
}

function dispose(part: Object3D): void {
  if (!(part instanceof Mesh || part instanceof LineSegments)) return;
  part.geometry.dispose();
  shed(part);
}

function shed(part: Mesh | LineSegments): void {
  for (const old of [part.material].flat()) {
    if (old instanceof MeshLambertMaterial) old.map?.dispose();
    old.dispose();
  }
}

/** For each number in the red channel the pixel farthest inside its area. */
function innermost(pixels: Uint8Array, width: number, height: number): Map<number, [number, number]> {
  const depth = new Uint16Array(width * height);
  const id = (k: number): number => pixels[4 * k] ?? 0;
  const pass = (from: number, to: number, step: number, near: number[]): void => {
    for (let k = from; k !== to; k += step) {
      if (!id(k)) continue;
      let least = step > 0 ? 65535 : (depth[k] ?? 0);
      const x = k % width;
      if (x === 0 || x === width - 1 || k < width || k >= width * (height - 1)) least = 1;
      for (const by of near) least = Math.min(least, id(k + by) === id(k) ? (depth[k + by] ?? 0) + 1 : 1);
      depth[k] = least;
    }
  };
  pass(0, width * height, 1, [-1, -width]);
  pass(width * height - 1, -1, -1, [1, width]);
  const best = new Map<number, number>();
  depth.forEach((value, k) => {
    const known = best.get(id(k));
    if (id(k) && (known === undefined || value > (depth[known] ?? 0))) best.set(id(k), k);
  });
  return new Map([...best].map(([layer, k]) => [layer, [k % width, Math.floor(k / width)]]));
}
