// What the page is given: one JSON document, written by roof3d/writers/page/data.py.
// Lengths in metres, areas in square metres, angles in degrees; points in the model's frame,
// z up, +y north, as in `roof3d measure --json`.

export type Point3 = [number, number, number];
export type Units = "imperial" | "metric";

export interface PageData {
  schema: "roof3d.page/1";
  program: string; // "roof3d 0.1.0"
  model: string;
  units: Units; // shown first
  variants: Variant[]; // the model as it is, then the prepared alternatives
  places: Place[]; // low-to-steep transitions first
  words: Word[]; // glossary, sorted
  roles: Record<string, Named>; // edge role -> name and meaning
  kinds: Record<string, Named>; // plane kind, opening kind
  names: Record<string, Called>; // plane id -> what a homeowner calls it
  colours: Colours;
  views: View[]; // the front first, then above, then each corner
  cautions: string[];
  live: Live | null; // only when served by `roof3d view --live`
  whole: boolean; // false while the joints of a served page are still being drawn
}

export interface Named { name: string; meaning: string }
export interface Called { name: string; short: string } // name goes after "the"; short stands alone
export interface Word { word: string; meaning: string }
export interface View { id: string; name: string; azimuth_deg: number; elevation_deg: number }

/** One answer to "what if"; `measure` and `takeoff` are the documents of `--json`, unchanged. */
export interface Variant {
  id: string; // "as-is" first
  title: string;
  question: string; // the salesperson's, in plain words; empty for the first
  plain: string[]; // what changes, in plain words
  measure: Measure;
  takeoff: Takeoff;
  assemblies: PlaneAssembly[]; // one a plane, in its order
  findings: Finding[]; // worst first, of the laying too
  water: WaterPath[]; // where it would leak; empty when nothing fails
  courses: CourseLines[]; // what is seen on each plane
  waits?: ("takeoff" | "laps")[]; // of a served page: what is still being worked out
}

export interface PlaneAssembly {
  plane: string;
  assembly: string;
  name: string;
  kind: "membrane" | "shingle";
  why: string; // why this plane got it
  layers: AssemblyLayer[]; // bottom up
}
export interface AssemblyLayer {
  role: string; name: string; material: string; thickness_m: number; width_m: number;
  lap_m: number; purpose: string; source: string;
}
export interface WaterPath { plane: string; points: Point3[]; says: string }

/** Line segments in a plane's own frame: origin + u * along + v * up, counted in steps. */
export interface CourseLines {
  plane: string; origin: Point3; along: Point3; up: Point3; step_m: number;
  segments: string; // base64 of gzip of little-endian int16: u0 v0 u1 v1, again and again
}

/** A joint of the roof: drawn once, true for every edge it is `at`. */
export interface Place {
  id: string; // where it was drawn: name of its node in the GLB
  kind: string; // detail kind, e.g. "low-below-steep"
  title: string;
  summary: string;
  at: Spot[]; // first the one that was drawn
  toward: number; // azimuth from which to look at it, degrees
  origin: Point3; // of its own frame, on the roof
  along: Point3; // of its line
  size: Point3;
  thickness: [number, number]; // factor on true thickness; least drawn thickness, metres
  layers: PlaceLayer[]; // bottom up, in the order of work
  beside: [string, string][]; // parts ("layer/kind") that are seen side by side
  measures: PlaceMeasure[];
  notes: string[];
  cautions: string[];
  wrong: WrongBuild[];
  waits?: boolean; // of a served page: not drawn yet, and of this only its place is known
  wrong_waits?: boolean; // of a served page: more wrong builds follow
}
export interface Spot {
  id: string; edge: string; opening: string; planes: string[]; words: string; length_m: number; middle: Point3;
}
export interface PlaceLayer {
  number: number; name: string; material: string; size: string; why: string; fastening: string;
  tool: string; gear: string; mistake: string; check: string; source: string;
  lift: Point3; // how far it moves when lifted by one metre a layer
  anchor: Point3; // a point on it, at rest
}
export interface PlaceMeasure { id: string; layer: number; ends: [Point3, Point3]; value_m: number; text: string; source: string }
export interface WrongBuild {
  name: string; title: string; wrong: string; water: string; cost: string; see: string; source: string;
  missing: number[]; // layers left out
  replaced: string[]; // "layer/kind" of meshes that give way to those of the wrong build
  path: Point3[]; // of the water, layers at rest
  lifts: Point3[]; // how far each point moves when lifted by one metre a layer
}

export interface Colours {
  groups: ColourGroup[]; // shingle, granule, metal, hip
  matches: Record<string, Match[]>; // by shingle swatch id: best first
}
export interface ColourGroup { id: "shingle" | "granule" | "metal" | "hip"; name: string; swatches: Swatch[] }
export interface Swatch { id: string; name: string; hex: string; blend: Share[] }
/** A further colour of a mix; what is left is the share of the first. */
export interface Share { hex: string; share: number }
export interface Match { group: "granule" | "metal" | "hip"; swatch: string; difference: number; why: string }

export interface Live { token: string; events: string; shows: string; state: string }

// Documents of other commands; only what the page reads is named here.
export interface Measure {
  schema: "roof3d.measure/1"; model: string; units: Units;
  planes: MeasuredPlane[]; edges: MeasuredEdge[]; openings: MeasuredOpening[]; scuppers: MeasuredScupper[];
  totals: Record<string, number>; caution: string[];
}
export interface MeasuredPlane {
  id: string; section: string; kind: "low" | "steep"; pitch: string; slope: number; slope_deg: number;
  azimuth_deg: number | null; assembly: string; plan_area_m2: number; area_m2: number;
  outline: Point3[]; holes: Point3[][];
}
export interface MeasuredParapet { top_m: number; height_m: number; thickness_m: number; coping_m: number }
export interface MeasuredScupper { id: string; edge: string; plane: string; width_m: number; height_m: number; sill_m: number; overflow: boolean; place: Point3 }
export interface MeasuredEdge {
  id: string; role: string; length_m: number; plan_length_m: number; planes: string[];
  assembly_change: boolean; ends: Point3[]; parapet: MeasuredParapet | null;
}
export interface MeasuredOpening { id: string; kind: string; planes: string[]; perimeter_m: number }
export interface Finding { code: string; severity: "note" | "caution" | "error"; where: string; message: string; source: string }
export interface Takeoff { schema: string; items: TakeoffItem[] }
export interface TakeoffItem {
  material: string; name: string; form: string; unit: string; net: number; ordered: number;
  packs_to_order: number; pack: string; rule: string;
}
