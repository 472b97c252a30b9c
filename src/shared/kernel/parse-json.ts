/** JSON from a file that may be any file: what is wrong is told by its place alone, never by what stands there. Throws SyntaxError, "line 3, column 14". */

const PLACE = /position (\d+)/;
/** V8 names no place for a sign that cannot stand where it is, but quotes what is around it. */
const ODD_SIGN = /^Unexpected token/;

const messageOf = (text: string): string | null => {
  try {
    JSON.parse(text);
    return null;
  } catch (error) {
    return (error as Error).message;
  }
};

/** The first character that no JSON could go on with: found by halving, since a longer beginning keeps a shorter one's mistake. */
function firstOddSign(text: string): number {
  let [sound, odd] = [0, text.length];
  while (odd - sound > 1) {
    const middle = (sound + odd) >> 1;
    if (ODD_SIGN.test(messageOf(text.slice(0, middle)) ?? "")) odd = middle;
    else sound = middle;
  }
  return odd - 1;
}

/** The value of a whole text; a byte order mark before it is passed over. */
export function parseJson(given: string): unknown {
  const text = given.startsWith("\ufeff") ? given.slice(1) : given;
  try {
    return JSON.parse(text);
  } catch (cause) {
    const { message } = cause as Error;
    const told = PLACE.exec(message)?.[1];
    const at = told !== undefined ? Number(told) : ODD_SIGN.test(message) ? firstOddSign(text) : text.length;
    const before = text.slice(0, at);
    const line = before.split("\n").length;
    // The engine's own error quotes the text, so it is not passed on as the cause.
    // biome-ignore lint/style/useErrorCause: see above.
    throw new SyntaxError(`line ${line}, column ${at - before.lastIndexOf("\n")}`);
  }
}
