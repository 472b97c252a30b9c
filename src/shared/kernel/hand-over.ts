/**
 * Removes keys, positions and the name of the home folder from text that goes into a log or is given to somebody. When in doubt it removes
 * more; a marker shows what was removed. Pure, linear, never fails.
 */

const LEFT_OUT = "[left out]";
const PLACE_LEFT_OUT = "[position left out]";

/** "key=...", "token: ...", a cookie of ours. */
const NAMED_SECRET = /((?:\b(?:key|token|secret|password|cookie|authorization)["']?\s*[=:]|\bgripbook[\w-]*=)\s*["']?)[^\s;,&"')\]]+/gi;
/** Longer than any word and not only small letters: a key of at least 128 bits in hex or 192 in base64. */
const LONG_CODE = /(?<![A-Za-z0-9_-])(?=[a-z_-]*[A-Z0-9])[A-Za-z0-9_-]{32,200}/g;
/** A receiver's sentence (NMEA 0183: from $ to its checksum); it may hold a position. */
const SENTENCE = /[$!][A-Z]{2}[A-Z0-9]{3},[\x20-\x7e]{0,100}/g;
/** Degrees precise to about 100 m: a single number with five decimals, or a pair with three. */
const PAIR_OF_DEGREES = /-?\b\d{1,3}\.\d{3,}\s*\u00b0?\s*[NS]?\s*[,;/ ]\s*-?\d{1,3}\.\d{3,}\s*\u00b0?\s*[EW]?/g;
const FINE_DEGREES = /-?\b\d{1,3}\.\d{5,}\b/g;

/** `home`: the person's own folder, written as ~; empty where there is none. */
export function withoutSecrets(text: string, home: string): string {
  const own = home.length > 1 ? text.replaceAll(home, "~") : text;
  return own.replace(NAMED_SECRET, `$1${LEFT_OUT}`).replace(LONG_CODE, LEFT_OUT);
}

export function withoutPositions(text: string): string {
  return text.replace(SENTENCE, PLACE_LEFT_OUT).replace(PAIR_OF_DEGREES, PLACE_LEFT_OUT).replace(FINE_DEGREES, PLACE_LEFT_OUT);
}
