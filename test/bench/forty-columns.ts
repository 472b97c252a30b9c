/**
 * The measuring process unchanged, except that every run gets forty columns on its way to the host: the book's widest run has fewer, and
 * the promise is about opening one of 40. What is read from the book stays as stored.
 */
import { COLUMNS } from "./columns.ts";

interface Answer {
  readonly kind?: string;
  readonly answer?: { readonly names?: readonly string[]; readonly units?: readonly string[]; readonly columns?: readonly Float32Array[] };
}

const send = process.send?.bind(process);
if (send === undefined) throw new TypeError("forty-columns: expected to be forked by a host");

process.send = (message: unknown, ...rest: unknown[]): boolean => {
  const { kind, answer } = message as Answer;
  const { names, units, columns } = answer ?? {};
  if (kind !== "answer" || names === undefined || units === undefined || columns === undefined)
    return Reflect.apply(send, process, [message, ...rest]);
  const more = Array.from({ length: Math.max(0, COLUMNS - columns.length) }, (_, i) => i);
  const wide = {
    ...(message as object),
    answer: {
      names: [...names, ...more.map((i) => `further${i + 1}`)],
      units: [...units, ...more.map(() => "")],
      columns: [...columns, ...more.map((i) => new Float32Array(columns[i] as Float32Array))],
    },
  };
  return Reflect.apply(send, process, [wide, ...rest]);
};

await import("../../src/main/ingest/ingest-process.ts");
