// Where one stands: turning, zooming and moving by mouse, finger, pen and keys.
import { Vector3 } from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import type { Eye } from "./state";
import type { World } from "./world";

const DEG = Math.PI / 180;

export class Eyes {
  readonly controls: OrbitControls;
  private flight = 0;
  /** Whether a hand holds the house. */
  turning = false;

  constructor(private readonly world: World, moved: () => void, rested: () => void) {
    this.controls = new OrbitControls(world.camera, world.canvas);
    this.controls.enableDamping = false;
    this.controls.maxPolarAngle = Math.PI * 0.56;
    this.controls.minDistance = 0.3;
    this.controls.maxDistance = 600;
    this.controls.zoomToCursor = true;
    this.controls.addEventListener("change", () => { world.render(moved); });
    this.controls.addEventListener("start", () => { this.turning = true; });
    this.controls.addEventListener("end", () => { this.turning = false; rested(); });
    world.canvas.addEventListener("keydown", (event) => { if (this.key(event)) { event.preventDefault(); rested(); } });
  }

  now(): Eye {
    const target = this.controls.target;
    const away = this.world.camera.position.clone().sub(target);
    const level = Math.hypot(away.x, away.z);
    return {
      azimuth: ((Math.atan2(away.x, -away.z) / DEG) + 360) % 360,
      elevation: Math.atan2(away.y, level) / DEG,
      distance: away.length(),
      target: this.world.model(target),
    };
  }

  set(eye: Eye): void {
    cancelAnimationFrame(this.flight);
    const target = this.world.at(eye.target);
    const elevation = Math.min(89, eye.elevation) * DEG;
    const [sin, cos] = [Math.sin(eye.azimuth * DEG), Math.cos(eye.azimuth * DEG)];
    const away = new Vector3(sin * Math.cos(elevation), Math.sin(elevation), -cos * Math.cos(elevation));
    this.controls.target.copy(target);
    this.world.camera.position.copy(target).addScaledVector(away, eye.distance);
    this.world.camera.near = Math.max(0.02, eye.distance / 200);
    this.world.camera.far = eye.distance * 60 + 200;
    this.world.camera.updateProjectionMatrix();
    this.controls.update();
  }

  /** Stand so that all of a joint, or of the house, fills the picture. */
  framing(place: string, azimuth: number, elevation: number): Eye {
    const { centre, radius, corners } = this.world.bounds(place);
    const camera = this.world.camera.clone();
    const tall = Math.tan((camera.fov * DEG) / 2);
    const up = Math.min(89, elevation) * DEG;
    const away = new Vector3(Math.sin(azimuth * DEG) * Math.cos(up), Math.sin(up), -Math.cos(azimuth * DEG) * Math.cos(up));
    camera.position.copy(centre).add(away);
    camera.lookAt(centre);
    camera.updateMatrixWorld(true);
    const narrow = this.world.canvas.clientWidth < 560;
    // Room at the sides for names of layers, above for the buttons.
    const sides = place ? (narrow ? 0.72 : 0.62) : 0.9;
    const heights = narrow ? 0.74 : 0.84;
    let distance = 1.2 * radius;
    for (const corner of corners) {
      const seen = corner.clone().sub(centre).applyQuaternion(camera.quaternion.clone().invert());
      distance = Math.max(distance, seen.z + Math.abs(seen.y) / (tall * heights), seen.z + Math.abs(seen.x) / (tall * camera.aspect * sides));
    }
    return { azimuth, elevation, distance, target: this.world.model(centre) };
  }

  fly(to: Eye, landed: () => void): void {
    cancelAnimationFrame(this.flight);
    if (matchMedia("(prefers-reduced-motion: reduce)").matches) {
      this.set(to);
      landed();
      return;
    }
    const from = this.now();
    const turn = ((to.azimuth - from.azimuth + 540) % 360) - 180;
    const began = performance.now();
    const step = (): void => {
      const t = Math.min(1, (performance.now() - began) / 650);
      const eased = t * t * (3 - 2 * t);
      const mix = (a: number, b: number): number => a + (b - a) * eased;
      this.set({
        azimuth: from.azimuth + turn * eased,
        elevation: mix(from.elevation, to.elevation),
        distance: Math.exp(mix(Math.log(from.distance), Math.log(to.distance))),
        target: [0, 1, 2].map((k) => mix(from.target[k] ?? 0, to.target[k] ?? 0)) as Eye["target"],
      });
      if (t < 1) this.flight = requestAnimationFrame(step);
      else { this.flight = 0; landed(); }
    };
    this.flight = requestAnimationFrame(step);
  }

  zoom(by: number): void {
    const eye = this.now();
    this.set({ ...eye, distance: Math.min(600, Math.max(0.3, eye.distance * by)) });
  }

  private key(event: KeyboardEvent): boolean {
    const eye = this.now();
    const turn = (azimuth: number, elevation: number): void => this.set({
      ...eye, azimuth: eye.azimuth + azimuth, elevation: Math.min(89, Math.max(-8, eye.elevation + elevation)),
    });
    const pan = (right: number, up: number): void => {
      const camera = this.world.camera;
      const move = new Vector3(right, up, 0).applyQuaternion(camera.quaternion).multiplyScalar(eye.distance * 0.05);
      this.set({ ...eye, target: this.world.model(this.controls.target.clone().add(move)) });
    };
    const arrows: Record<string, [number, number]> = {
      ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1],
    };
    const arrow = arrows[event.key];
    if (arrow) {
      if (event.shiftKey) pan(-arrow[0], arrow[1]);
      else turn(10 * arrow[0], 6 * arrow[1]);
      return true;
    }
    if (event.key === "+" || event.key === "=") { this.zoom(0.85); return true; }
    if (event.key === "-") { this.zoom(1 / 0.85); return true; }
    return false;
  }
}
