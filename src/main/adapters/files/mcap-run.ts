/**
 * One run as MCAP holds it (mcap.dev, "MCAP Format Specification"): a channel of JSON messages, one each 10 ms, their JSON Schema, and what is known
 * of the run as metadata. Rows and digits are those of its CSV, names those of the archive; what is unknown is absent. Unequal columns give
 * shorter messages; a start that no log can have throws RangeError.
 */
import { KMH_AND_M, saidIn } from "../../../shared/kernel/shown-units.ts";
import { momentCells } from "../../../shared/run/moments.ts";
import { fieldsOf, firstRow, NOTED, type RunTable } from "../../../shared/report/csv.ts";
import type { McapRun } from "../../ports/mcap-run.ts";
import { SAMPLE_COLUMNS, sampleColumnName } from "../../../shared/report/runs-table.ts";

export interface McapMessage {
  /** Nanoseconds UTC since 1970. */
  readonly logTime: bigint;
  readonly json: string;
}

export const topicOf = ({ view }: McapRun): string => `/runs/${view.run.id}`;

const WHAT = new Map(SAMPLE_COLUMNS.map(({ name, what }) => [name, what]));
const NOTED_WHAT = "marked and noted while driving, at its time";

/** JSON Schema of a message. The unit stands in brackets at the end of a description. */
export function messageSchema({ names, units }: RunTable): string {
  const columns = names.map((column, i): [string, object] => {
    const name = sampleColumnName(column);
    return [name, { type: "number", description: `${WHAT.get(name) ?? "of the bus"} [${units[i] || "1"}]` }];
  });
  const properties = Object.fromEntries([...columns, [NOTED, { type: "string", description: NOTED_WHAT }]]);
  return JSON.stringify({ title: "A moment of a run; what is unknown is absent", type: "object", properties, required: ["timeS"] });
}

/** Sentences carry marked figures, which are shown in the units of the archive. */
const plain = (_: string, value: unknown) => (typeof value === "string" ? saidIn(KMH_AND_M, value) : value);
const json = (value: unknown) => JSON.stringify(value, plain);

const START_FROM = { true: "receiver", false: "clock of the recording" } as const;

/** Of the channel: what a reader needs beside each message. */
export function channelFacts(run: McapRun): [string, string][] {
  const { view, car, table } = run;
  const units = Object.fromEntries(table.names.map((name, i) => [sampleColumnName(name), table.units[i] || "1"]));
  return [
    ["runUid", view.run.uid],
    ["car", car ?? ""],
    ["label", view.run.label],
    ["timeFrom", START_FROM[`${run.byReceiver}`]],
    ["units", json(units)],
  ];
}

/** Everything that is known of the run: words and numbers as they are, what has parts as JSON. An unknown one is left out. */
export function runFacts(run: McapRun): [string, string][] {
  const { run: own, ...figures } = run.view;
  const { id, uid, use, ...known } = own;
  const facts = { run: id, runUid: uid, car: run.car, inUse: use, ...known, ...figures, softwareVersion: run.softwareVersion };
  return Object.entries(facts)
    .filter(([, value]) => value !== null)
    .map(([name, value]) => [name, typeof value === "string" ? saidIn(KMH_AND_M, value) : json(value)]);
}

/** MCAP's times have no sign; a book from elsewhere may hold anything. */
function startNs({ movementUtcMs, view }: McapRun): bigint {
  const us = Math.round(movementUtcMs * 1000);
  if (!Number.isSafeInteger(us) || us < 10e6)
    throw new RangeError(`Run ${view.run.id}: its start is no time after 1970, which MCAP cannot hold; export it as csv`);
  return BigInt(us) * 1000n;
}

/** One each row of the run's CSV. */
export function* messagesOf(run: McapRun): Generator<McapMessage> {
  const { table, view } = run;
  const timeS = table.columns[0] ?? [];
  const first = firstRow(timeS);
  const zero = startNs(run);
  const noted = momentCells(timeS, view.moments, first);
  const fields = table.columns.map((column, i) => ({ key: JSON.stringify(sampleColumnName(table.names[i] ?? "")), of: fieldsOf(column) }));
  for (let row = first; row < timeS.length; row += 1) {
    const told = fields.map(({ key, of }) => ({ key, text: of(row) })).filter(({ text }) => text !== "");
    const note = noted.get(row);
    if (note !== undefined) told.push({ key: JSON.stringify(NOTED), text: JSON.stringify(note) });
    yield {
      logTime: zero + BigInt(Math.round((timeS[row] as number) * 1e9)),
      json: `{${told.map(({ key, text }) => `${key}:${text}`).join(",")}}`,
    };
  }
}
