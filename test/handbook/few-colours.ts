/**
 * A screenshot as a PNG of 256 colours, a third of its size: the screens have few colours, and between them only the edges of letters. PNG
 * (W3C, second edition): 11.2.3 PLTE, 9.2 filter type 0, which suits palettes (12.8). Anything but a browser's 8 bit RGB or RGBA PNG throws.
 */
import { crc32, deflateSync, inflateSync } from "node:zlib";

const SIGNATURE = Uint8Array.from([137, 80, 78, 71, 13, 10, 26, 10]);
const MOST_COLOURS = 256;

interface Chunk {
  readonly type: string;
  readonly data: Buffer;
}

function chunksOf(png: Buffer): Chunk[] {
  if (!png.subarray(0, 8).equals(SIGNATURE)) throw new Error("few colours: expected a PNG; take it with page.screenshot()");
  const chunks: Chunk[] = [];
  for (let at = 8; at < png.length; ) {
    const length = png.readUInt32BE(at);
    chunks.push({ type: png.toString("latin1", at + 4, at + 8), data: png.subarray(at + 8, at + 8 + length) });
    at += 12 + length;
  }
  return chunks;
}

/** PNG 9.4: the predictor of filter type 4. */
function paeth(a: number, b: number, c: number): number {
  const p = a + b - c;
  const [pa, pb, pc] = [Math.abs(p - a), Math.abs(p - b), Math.abs(p - c)];
  return pa <= pb && pa <= pc ? a : pb <= pc ? b : c;
}

/** The bytes of all rows without their filters. */
function unfiltered(raw: Buffer, stride: number, height: number, step: number): Buffer {
  const out = Buffer.alloc(stride * height);
  for (let y = 0; y < height; y += 1) {
    const filter = raw[y * (stride + 1)] as number;
    for (let i = 0; i < stride; i += 1) {
      const at = y * stride + i;
      const a = i >= step ? (out[at - step] as number) : 0;
      const b = y > 0 ? (out[at - stride] as number) : 0;
      const c = i >= step && y > 0 ? (out[at - stride - step] as number) : 0;
      const added = [0, a, b, (a + b) >> 1, paeth(a, b, c)][filter] as number;
      out[at] = (raw[y * (stride + 1) + 1 + i] as number) + added;
    }
  }
  return out;
}

/** Colours by how often they occur, rounded until they are few enough. */
function palette(pixels: readonly number[]): { readonly colours: readonly number[]; readonly keep: (colour: number) => number } {
  for (let bits = 0; bits < 7; bits += 1) {
    const mask = (0xff << bits) & 0xff;
    const rounded = (colour: number) => colour & ((mask << 16) | (mask << 8) | mask);
    // The most frequent colour of those that are rounded to one stands for all: sheet and ink stay exact.
    const counts = new Map<number, Map<number, number>>();
    for (const colour of pixels) {
      const same = counts.get(rounded(colour)) ?? new Map<number, number>();
      same.set(colour, (same.get(colour) ?? 0) + 1);
      counts.set(rounded(colour), same);
    }
    if (counts.size > MOST_COLOURS) continue;
    const groups = [...counts.keys()];
    const colours = [...counts.values()].map((same) => [...same].reduce((most, one) => (one[1] > most[1] ? one : most))[0]);
    const at = new Map(groups.map((group, i) => [group, i]));
    return { colours, keep: (colour) => at.get(rounded(colour)) as number };
  }
  throw new Error("few colours: more than 256 however they are rounded; is this a photograph?");
}

function chunk(type: string, data: Uint8Array): Buffer {
  const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
  const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  check.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, check]);
}

export function fewColours(png: Buffer): Buffer {
  const chunks = chunksOf(png);
  const head = chunks[0]?.data as Buffer;
  const [width, height, depth, kind] = [head.readUInt32BE(0), head.readUInt32BE(4), head[8], head[9]];
  const step = kind === 2 ? 3 : 4;
  if (depth !== 8 || (kind !== 2 && kind !== 6))
    throw new Error(`few colours: expected 8 bit RGB or RGBA, got depth ${depth}, type ${kind}`);
  const packed = Buffer.concat(chunks.filter(({ type }) => type === "IDAT").map(({ data }) => data));
  const bytes = unfiltered(inflateSync(packed), width * step, height, step);
  const pixels: number[] = [];
  for (let at = 0; at < bytes.length; at += step) pixels.push(bytes.readUIntBE(at, 3));
  const { colours, keep } = palette(pixels);
  const rows = Buffer.alloc((width + 1) * height);
  for (let y = 0; y < height; y += 1)
    for (let x = 0; x < width; x += 1) rows[y * (width + 1) + 1 + x] = keep(pixels[y * width + x] as number);
  const table = Buffer.alloc(colours.length * 3);
  for (const [i, colour] of colours.entries()) table.writeUIntBE(colour, i * 3, 3);
  const paletteHead = Buffer.from(head);
  [paletteHead[8], paletteHead[9]] = [8, 3];
  return Buffer.concat([
    SIGNATURE,
    chunk("IHDR", paletteHead),
    chunk("PLTE", table),
    chunk("IDAT", deflateSync(rows, { level: 9 })),
    chunk("IEND", new Uint8Array()),
  ]);
}
