/**
 * Turns a text file's bytes into a string: UTF-8 where the bytes are valid UTF-8, else Windows code page 1252. Never fails: the five bytes
 * that code page leaves undefined become U+FFFD.
 */

/**
 * The built-in decoder of the WHATWG Encoding Standard: every browser and Node has it. Declared here because the domain is built without
 * any host's types.
 */
declare const TextDecoder: new (label: "utf-8", options: { readonly fatal: true }) => { decode(bytes: Uint8Array): string };

/**
 * Code points of 0x80 to 0x9F (Unicode's mapping of code page 1252). Not left to TextDecoder: Node 20.18.3, 22.13 and the first of 24
 * read these bytes as Latin-1 (nodejs/node issue 56542).
 */
const CP1252_HIGH =
  "\u20ac\ufffd\u201a\u0192\u201e\u2026\u2020\u2021\u02c6\u2030\u0160\u2039\u0152\ufffd\u017d\ufffd\ufffd\u2018\u2019\u201c\u201d\u2022\u2013\u2014\u02dc\u2122\u0161\u203a\u0153\ufffd\u017e\u0178";
const CHUNK = 8192;

/** Decodes a whole file; a byte order mark is left out. */
export function decodeFileText(bytes: Uint8Array): string {
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch (cause) {
    // TypeError is what it throws for bytes that are not UTF-8.
    if (cause instanceof TypeError) return fromCp1252(bytes);
    throw cause;
  }
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
