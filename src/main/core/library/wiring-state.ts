/**
 * Wrong wiring as a state of the book: what each recording's newest derivation showed, until one shows it no longer. A
 * stored state of another form throws BookError.
 */
import { marked } from "../../../shared/kernel/shown-units.ts";
import type { WiringFault } from "../../../shared/pipeline/wiring-faults.ts";
import { type Book, BookError } from "../../ports/book.ts";

export const WIRING_KEY = "wiring";

/** One recording's faults. */
export interface RecordingWiring {
  readonly recording: number;
  readonly faults: readonly WiringFault[];
}

const isRecord = (value: unknown): value is Record<string, unknown> => typeof value === "object" && value !== null && !Array.isArray(value);
const isFault = (value: unknown): value is WiringFault =>
  isRecord(value) &&
  (["kind", "what", "seen", "remedy"] as const).every((key) => typeof value[key] === "string") &&
  typeof value.spoils === "boolean";

function stored(book: Book): Readonly<Record<string, readonly WiringFault[]>> {
  const value = book.setting(WIRING_KEY) ?? {};
  if (!isRecord(value) || !Object.values(value).every((faults) => Array.isArray(faults) && faults.every(isFault)))
    throw new BookError("damaged", `Book ${book.file}: its setting ${WIRING_KEY} cannot be read; run check on a copy`);
  return value as Record<string, readonly WiringFault[]>;
}

/** Recordings with faults, in their order. */
export function wiringOf(book: Book): RecordingWiring[] {
  return Object.entries(stored(book)).map(([recording, faults]) => ({ recording: Number(recording), faults }));
}

/** Stores a derivation's faults where they differ from the state before. */
export function setWiring(book: Book, recording: number, faults: readonly WiringFault[], utcUs: number): void {
  const all = stored(book);
  const { [recording]: before = [], ...others } = all;
  if (JSON.stringify(before) === JSON.stringify(faults)) return;
  book.setSetting(WIRING_KEY, faults.length === 0 ? others : { ...others, [recording]: faults }, utcUs);
}

/** One line a fault, with what to do. */
export const wiringLine = (recording: number, { what, seen, remedy, spoils }: WiringFault): string =>
  `Wrong wiring in recording ${recording}: ${what}: ${marked(seen)}; ${remedy}${spoils ? " (times that rest on it are not stored)" : ""}`;

/** Every fault of the book; a state that cannot be read is told in its place. */
export function wiringLines(book: Book): string[] {
  try {
    return wiringOf(book).flatMap(({ recording, faults }) => faults.map((fault) => wiringLine(recording, fault)));
  } catch (error) {
    if (error instanceof BookError) return [error.message];
    throw error;
  }
}

/** For a screen's notice: the first fault and how many more there are; null where there is none. */
export function wiringNotice(book: Book): string | null {
  const [first, ...others] = wiringLines(book);
  return first === undefined ? null : `${first}${others.length > 0 ? `. ${others.length} more: \`check\` lists them` : ""}`;
}
