/**
 * Parses JSON from a file that may be any file. An error names the place only and never quotes the text. Throws SyntaxError, "line 3,
 * column 14".
 */

const PLACE = /position (\d+)/;
/** For an unexpected character V8 gives no position and quotes the text around it. */
const ODD_SIGN = /^Unexpected token/;

const messageOf = (text: string): string | null => {
  try {
    JSON.parse(text);
    return null;
  } catch (error) {
    return (error as Error).message;
  }
};

/** The first character at which no JSON text can go on. Found by halving: if a beginning has the mistake, every longer one has it too. */
function firstOddSign(text: string): number {
  let [sound, odd] = [0, text.length];
  while (odd - sound > 1) {
    const middle = (sound + odd) >> 1;
    if (ODD_SIGN.test(messageOf(text.slice(0, middle)) ?? "")) odd = middle;
    else sound = middle;
  }
  return odd - 1;
}

/** Parses a whole text; a byte order mark before it is ignored. */
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
