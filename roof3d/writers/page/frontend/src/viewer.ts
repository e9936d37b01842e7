// The way in: unpack what the page was given, then draw it.
import type { PageData } from "./data";
import { start } from "./page";
import { unpacked } from "./packed";

async function main(): Promise<void> {
  const packed = document.getElementById("facts")?.textContent ?? "";
  const text = new TextDecoder().decode(await unpacked(packed));
  start(JSON.parse(text) as PageData);
}
void main();
