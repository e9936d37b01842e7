// A served page follows its model: it takes what is made anew, and says what its reader looks at.
import type { App } from "./app";
import type { PageData, Place, Point3 } from "./data";
import type { Eyes } from "./eye";
import type { State } from "./state";
import { read, type World } from "./world";

/** A part of the page, all of it told at once; written by roof3d/live/server.py. */
interface News {
  facts: Partial<PageData>;
  house: string; // GLB, gzip in base64; empty for the house that is there
  joints: { id: string; entry: Place | null; meshes: string }[];
}

export interface Stage {
  app: App;
  world: World | null;
  eyes: Eyes | null;
  message: HTMLElement;
  frame(): void; // fly to what is open
  reframe(): boolean; // stand again where the page put the reader; false where a hand moved the eye since
}

const LOST = "The server of this page does not answer: what is shown may be old.";

export function follow(stage: Stage): void {
  const { data, store } = stage.app;
  const { live } = data;
  if (!live) return;
  const token = encodeURIComponent(live.token);
  const source = new EventSource(`${live.events}?token=${token}&has=${encodeURIComponent(live.state)}`);
  let queue = Promise.resolve();
  source.addEventListener("news", (event) => {
    const news = JSON.parse(String((event as MessageEvent).data)) as News;
    queue = queue.then(() => take(stage, news));
  });
  source.addEventListener("fault", (event) => {
    const fault = String((event as MessageEvent).data).trimEnd(); // empty where it was mended
    stage.message.textContent = fault && `${fault}\nThe page shows the last roof without a fault.`;
  });
  source.addEventListener("error", () => { stage.message.textContent = LOST; });
  source.addEventListener("open", () => { if (stage.message.textContent === LOST) stage.message.textContent = ""; });
  const show = (): void => {
    const { panel, place } = store.state;
    void fetch(`${live.shows}?token=${token}&panel=${panel}&place=${encodeURIComponent(place)}`, { method: "POST" }).catch(() => undefined);
  };
  store.on((state, before) => { if (state.panel !== before.panel || state.place !== before.place) show(); });
  show();
}

/** Everything of a part changes at once: its meshes are read before the first of it is shown. */
async function take(stage: Stage, news: News): Promise<void> {
  const { app, world } = stage;
  const { data, store } = app;
  const packed = [news.house, ...news.joints.map((joint) => joint.meshes)].filter((text) => text);
  const meshes = world ? await Promise.all(packed.map(read)) : [];
  const [before, variant] = [app.place(), app.variant().id];
  const titles = new Map(data.places.map((place) => [`${place.kind} ${place.id}`, place.title]));
  Object.assign(data, news.facts);
  for (const joint of news.joints) {
    data.places = data.places.flatMap((place) => (place.id !== joint.id ? [place] : joint.entry ? [joint.entry] : []));
  }
  for (const place of data.places) if (place.waits) place.title = titles.get(`${place.kind} ${place.id}`) ?? place.title;
  for (const found of meshes) world?.take(found);
  if (news.house) {
    app.tape.clear();
    document.title = `${data.model}: the roof`;
    const heading = document.querySelector("h1");
    if (heading) heading.textContent = data.model;
    stage.message.textContent = "";
  }
  const change = keptState(app);
  if (Object.keys(change).length) store.set(change);
  else if (news.house || variant !== app.variant().id || news.joints.some((joint) => joint.entry?.id === store.state.place)) {
    void world?.show(store.state, app.variant());
  }
  stand(stage, news.house !== "", variant !== app.variant().id, before, app.place());
  if (concerns(app, news)) redraw(app);
  document.body.dataset["built"] = data.live?.state ?? "";
  document.body.dataset["whole"] = String(data.whole);
}

/** What of the state has to change, since what it names is gone or lies elsewhere. */
function keptState(app: App): Partial<State> {
  const { data, store: { state } } = app;
  const change: Partial<State> = {};
  if (state.place && !app.place()) {
    change.place = data.places.find((place) => place.at.some((spot) => spot.id === state.place))?.id ?? "";
    if (!change.place) app.announce("That joint is no longer on this roof.");
  }
  if (data.whole && app.variant().id !== state.variant) change.variant = app.variant().id;
  if (!data.views.some((view) => view.id === state.view)) change.view = data.views[0]?.id ?? "";
  const place = data.places.find((known) => known.id === (change.place ?? state.place));
  if (!place || place.waits) return change;
  const laid = (number: number): boolean => place.layers.some((layer) => layer.number === number);
  if (state.step && !laid(state.step)) change.step = 0;
  if (!state.hidden.every(laid)) change.hidden = state.hidden.filter(laid);
  if (state.wrong && !place.wrong_waits && !place.wrong.some((known) => known.name === state.wrong)) change.wrong = "";
  return change;
}

/** Who stands before a joint goes along with it; who looks from where the page put them is put there again. */
function stand(stage: Stage, house: boolean, answer: boolean, before: Place | undefined, now: Place | undefined): void {
  const { app: { store }, eyes } = stage;
  if (!eyes || now?.waits) return;
  const came = now !== undefined && (!before || before.waits === true);
  if (came && store.state.eye === null) {
    stage.frame();
  } else if ((house || answer) && !came && !stage.reframe() && house && now && before) {
    const eye = eyes.now();
    const target = eye.target.map((value, k) => value + (now.origin[k] ?? 0) - (before.origin[k] ?? 0));
    eyes.set({ ...eye, target: target as Point3 });
    store.set({ eye: eyes.now() });
  }
}

/** Whether the panel that is shown tells something else now. */
function concerns(app: App, news: News): boolean {
  const { panel, place } = app.store.state;
  if (news.house || news.joints.some((joint) => !joint.entry)) return true;
  if (panel === "whatif") return news.facts.variants !== undefined;
  if (panel !== "places") return false;
  return place ? news.joints.some((joint) => joint.entry?.id === place) : news.joints.length > 0 || news.facts.whole !== undefined;
}

/** Draw the panel anew, what was unfolded in it still unfolded. */
function redraw(app: App): void {
  const folds = (): [string, HTMLDetailsElement][] => [...document.querySelectorAll<HTMLDetailsElement>("#panel details")]
    .map((fold) => [fold.querySelector("summary b")?.textContent ?? "", fold]);
  const unfolded = folds().filter(([, fold]) => fold.open).map(([name]) => name);
  app.redraw();
  for (const [name, fold] of folds()) if (unfolded.includes(name)) fold.open = true;
}
