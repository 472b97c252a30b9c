/** Reads comma-separated values as RFC 4180 has them (also with LF alone, and a byte order mark before). A quote out of place throws RangeError with its row. */
import { meant } from "./csv.ts";

/** Rows of fields; rows without any text are left out. An apostrophe that was put before a formula is taken away. */
export function readCsv(text: string): string[][] {
  const rows: string[][] = [];
  let fields: string[] = [];
  let at = text.startsWith("\ufeff") ? 1 : 0;
  const misplaced = () => new RangeError(`Table, row ${rows.length + 1}: expected a field that is quoted whole or not at all (RFC 4180)`);
  const quoted = (): string => {
    let field = "";
    for (;;) {
      const end = text.indexOf('"', at);
      if (end < 0) throw misplaced();
      field += text.slice(at, end);
      at = end + 1;
      if (text[at] !== '"') break;
      field += '"';
      at += 1;
    }
    if (at < text.length && !/[,\r\n]/.test(text[at] as string)) throw misplaced();
    return field;
  };
  while (at < text.length) {
    if (text[at] === '"') {
      at += 1;
      fields.push(quoted());
    } else {
      const end = text.slice(at).search(/[",\r\n]/);
      const field = end < 0 ? text.slice(at) : text.slice(at, at + end);
      at += field.length;
      if (text[at] === '"') throw misplaced();
      fields.push(field);
    }
    if (text[at] === ",") {
      at += 1;
      // A comma at the end of the file begins one more field.
      if (at < text.length && !/[\r\n]/.test(text[at] as string)) continue;
      fields.push("");
    }
    at += text.startsWith("\r\n", at) ? 2 : 1;
    if (fields.some((field) => field !== "")) rows.push(fields.map(meant));
    fields = [];
  }
  return rows;
}
