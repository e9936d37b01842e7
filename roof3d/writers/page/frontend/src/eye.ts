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
    this.world.camera.updateMatrixWorld(); // a tap may come before the next frame
  }

  /** Stand so that a joint, some planes or the whole house fill the picture, in its middle. */
  framing(place: string, azimuth: number, elevation: number, planes: string[] = []): Eye {
    const corners = this.world.corners(place, planes);
    const camera = this.world.camera.clone();
    const [wide, high] = [this.world.canvas.clientWidth, this.world.canvas.clientHeight];
    const tall = Math.tan((camera.fov * DEG) / 2);
    const up = Math.min(89, elevation) * DEG;
    const away = new Vector3(Math.sin(azimuth * DEG) * Math.cos(up), Math.sin(up), -Math.cos(azimuth * DEG) * Math.cos(up));
    camera.position.copy(away);
    camera.lookAt(0, 0, 0);
    const turn = camera.quaternion.clone().invert();
    // Room at the sides for names of layers, above for the buttons, below for the arrow.
    const sides = place ? (wide < 560 ? 0.68 : Math.min(0.66, Math.max(0.46, 1 - 340 / wide))) : 0.88;
    const [top, bottom] = [1 - 2 * Math.min(0.3, 64 / high), -1 + 2 * Math.min(0.25, (place ? 16 : 40) / high)];
    const [middle, heights] = [(top + bottom) / 2, (top - bottom) / 2];
    const seen = corners.map((corner) => corner.applyQuaternion(turn));
    const centre = new Vector3();
    if (seen.length) {
      const low = seen.reduce((found, spot) => found.min(spot), new Vector3(Infinity, Infinity, Infinity));
      const most = seen.reduce((found, spot) => found.max(spot), new Vector3(-Infinity, -Infinity, -Infinity));
      centre.copy(low).add(most).multiplyScalar(0.5);
    }
    let distance = 1;
    for (let round = 0; round < 6; round++) {
      distance = 0.4;
      for (const { x, y, z } of seen) {
        distance = Math.max(distance, z - centre.z + Math.abs(y - centre.y) / (tall * heights), z - centre.z + Math.abs(x - centre.x) / (tall * camera.aspect * sides));
      }
      let [left, right, low, most] = [Infinity, -Infinity, Infinity, -Infinity];
      for (const { x, y, z } of seen) {
        const deep = distance - (z - centre.z);
        [left, right] = [Math.min(left, (x - centre.x) / deep), Math.max(right, (x - centre.x) / deep)];
        [low, most] = [Math.min(low, (y - centre.y) / deep), Math.max(most, (y - centre.y) / deep)];
      }
      if (!Number.isFinite(left)) break;
      centre.x += ((left + right) / 2) * distance;
      centre.y += ((low + most) / 2) * distance;
    }
    // What lies in the middle is moved to the middle of the room that the buttons leave.
    centre.y -= middle * tall * distance;
    return { azimuth, elevation, distance, target: this.world.model(centre.applyQuaternion(turn.invert())) };
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
