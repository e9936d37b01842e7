// Paper and pictures that are kept: the view with its words, and the tables beneath.
import type { App } from "./app";
import { el, fill, table } from "./dom";
import { paintTags, type Tag } from "./labels";
import { capital, spoken, titled, told } from "./names";
import { roleOf } from "./panels/house";
import { compared } from "./panels/whatif";
import { area, length, pitch, pitched } from "./units";
import type { World } from "./world";

/** The current view with its words, as a canvas of its own. */
export function pictured(world: World, tags: Tag[], scale: number): HTMLCanvasElement {
  const { clientWidth: width, clientHeight: height } = world.canvas;
  world.draw();
  const made = document.createElement("canvas");
  made.width = width * scale;
  made.height = height * scale;
  const brush = made.getContext("2d");
  if (brush) {
    brush.fillStyle = "#ffffff";
    brush.fillRect(0, 0, made.width, made.height);
    brush.drawImage(world.canvas, 0, 0, made.width, made.height);
    brush.scale(scale, scale);
    paintTags(brush, tags);
  }
  return made;
}

const size = (text: string): Node => el("span", { class: "size" }, text);
/** A name with its id in small letters. */
const named = (name: string, id: string): Node => el("span", {}, name, " ", el("small", {}, id));

export function fillPrint(paper: HTMLElement, app: App, picture: HTMLCanvasElement | null): void {
  const { data } = app;
  const { units } = app.store.state;
  const variant = app.variant();
  const opened = app.place();
  const place = opened?.waits ? undefined : opened; // what is not drawn yet is not printed either
  const wrong = place?.wrong.find((known) => known.name === app.store.state.wrong);
  const image = picture ? el("img", { src: picture.toDataURL("image/png"), alt: place ? place.title : `The roof of ${data.model}` }) : null;
  fill(paper,
    el("h1", {}, data.model),
    el("p", {}, place ? `${place.title}: ${pitched(place.summary, units)}` : told(data, variant.title, units)),
    wrong ? el("p", { class: "warn" }, `Wrong on purpose: ${wrong.wrong} ${wrong.water} (${wrong.title})`) : null,
    image,
    ...(place ? [] : variant.plain.map((line) => el("p", {}, told(data, line, units)))),
    el("div", { class: "caution" }, ...(place?.cautions ?? data.cautions).map((line) => el("p", {}, line))),
    place
      ? table("Layers in the order of work", ["Layer", "What it does", "Sizes", "Fixed by", "How to check"], place.layers.map((layer) => [
        `${layer.number} ${layer.name}`, layer.why, layer.size, layer.fastening, layer.check,
      ]))
      : null,
    table("Planes", ["Plane", "Kind", "Pitch", "True area", "Carries"], variant.measure.planes.map((plane) => [
      named(titled(data, plane.id), plane.id), capital(data.kinds[plane.kind]?.name ?? plane.kind), pitch(plane.pitch, plane.slope_deg, units), size(area(plane.area_m2, units)),
      variant.assemblies.find((known) => known.plane === plane.id)?.name ?? plane.assembly,
    ])),
    table("Edges", ["Edge", "True length"], variant.measure.edges.map((edge) => [
      named(`${capital(data.roles[roleOf(edge)]?.name ?? edge.role)} of ${spoken(data, edge.planes)}`, edge.id), size(length(edge.length_m, units)),
    ])),
    compared(app),
  );
}
