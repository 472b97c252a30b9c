/**
 * Turns a text file's bytes into a string: UTF-8 where the bytes are valid UTF-8, Windows code page 1252 otherwise.
 * Total: the five bytes that code page leaves undefined become U+FFFD.
 */

/** Code points of 0x80 to 0x9F (Unicode's mapping of code page 1252). */
const CP1252_HIGH =
  "\u20ac\ufffd\u201a\u0192\u201e\u2026\u2020\u2021\u02c6\u2030\u0160\u2039\u0152\ufffd\u017d\ufffd\ufffd\u2018\u2019\u201c\u201d\u2022\u2013\u2014\u02dc\u2122\u0161\u203a\u0153\ufffd\u017e\u0178";
const CHUNK = 8192;

/** Decodes a whole file; a byte order mark is left out. */
export function decodeFileText(bytes: Uint8Array): string {
  const start = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  return fromUtf8(bytes, start) ?? fromCp1252(bytes);
}

function fromUtf8(bytes: Uint8Array, start: number): string | null {
  const points = new Uint32Array(CHUNK);
  let count = 0;
  let text = "";
  for (let i = start; i < bytes.length; ) {
    const first = bytes[i];
    const more =
      first < 0x80 ? 0 : first >= 0xc2 && first < 0xe0 ? 1 : first >= 0xe0 && first < 0xf0 ? 2 : first >= 0xf0 && first < 0xf5 ? 3 : -1;
    if (more < 0 || i + more >= bytes.length) return null;
    let point = more === 0 ? first : first & (0x3f >> more);
    for (let k = 1; k <= more; k++) {
      if ((bytes[i + k] & 0xc0) !== 0x80) return null;
      point = (point << 6) | (bytes[i + k] & 0x3f);
    }
    const overlong = (more === 2 && point < 0x800) || (more === 3 && point < 0x10000);
    if (overlong || (point >= 0xd800 && point < 0xe000) || point > 0x10ffff) return null;
    points[count++] = point;
    i += more + 1;
    if (count === CHUNK) {
      text += String.fromCodePoint(...points);
      count = 0;
    }
  }
  return text + String.fromCodePoint(...points.subarray(0, count));
}

function fromCp1252(bytes: Uint8Array): string {
  let text = "";
  for (let from = 0; from < bytes.length; from += CHUNK) {
    const codes = Array.from(bytes.subarray(from, from + CHUNK), (byte) =>
      byte >= 0x80 && byte < 0xa0 ? CP1252_HIGH.charCodeAt(byte - 0x80) : byte,
    );
    text += String.fromCharCode(...codes);
  }
  return text;
}
