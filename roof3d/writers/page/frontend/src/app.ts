// What every panel is given.
import type { PageData, Place, Variant } from "./data";
import type { Store } from "./state";
import type { Tape } from "./tape";

export interface App {
  data: PageData;
  store: Store;
  tape: Tape;
  drawn: boolean; // whether this machine can draw
  variant(): Variant;
  place(): Place | undefined;
  pick(id: string): void;
  open(place: string): void;
  tones(): Map<string, string>; // colour of each part of the open joint, "layer/kind"
  redraw(): void;
  announce(words: string): void;
}
