// Numbers and words travel as gzip in base64.
export async function unpacked(packed: string): Promise<Uint8Array> {
  const bytes = Uint8Array.from(atob(packed.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}
