/** Small helpers of the decoding tests: text as bytes, streams in pieces, where the reference folder lies. */
import { fileURLToPath } from "node:url";

export function ascii(text: string): Uint8Array {
  return Uint8Array.from(text, (letter) => letter.charCodeAt(0));
}

/** Pushes copies of successive parts, sizes taken from `cuts` in turn. */
export function pushInPieces(bytes: Uint8Array, cuts: readonly number[], push: (part: Uint8Array) => void): void {
  for (let from = 0, k = 0; from < bytes.length; k++) {
    const to = Math.min(bytes.length, from + cuts[k % cuts.length]);
    push(bytes.slice(from, to));
    from = to;
  }
}

/** A file of the shared reference folder, which is read in place and never copied. */
export function referencePath(name: string): string {
  const folder = process.env.GRIPBOOK_REFERENCE ?? fileURLToPath(new URL("../../../../shared/reference", import.meta.url));
  return `${folder}/${name}`;
}

/** A committed receiver capture of gpsd (BSD, see COPYING beside it). */
export function capturePath(name: string): string {
  return fileURLToPath(new URL(`../../fixtures/gpsd/${name}`, import.meta.url));
}
