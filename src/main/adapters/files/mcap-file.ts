/**
 * Runs as one MCAP file (docs/archive.md): chunked, indexed, compressed where this Node can. Only one chunk and one run are in memory, and a line
 * of the file's index for each. What fails, and what is stopped, throws and leaves no file.
 */
import { setImmediate } from "node:timers/promises";
import zlib from "node:zlib";
import { McapWriter } from "@mcap/core";
import { beginFile, type NewFile, type NewFileOptions } from "../../disk/new-file.ts";
import type { McapRun } from "../../ports/mcap-run.ts";
import { channelFacts, messageSchema, messagesOf, runFacts, topicOf } from "./mcap-run.ts";

export interface McapOptions extends NewFileOptions {
  readonly softwareVersion: string;
  /** Ends the export between two runs. */
  readonly signal: AbortSignal;
}

const SCHEMA_NAME = "gripbook.moment";

/** Node 22.14, the oldest that runs the program, has no Zstandard yet (nodejs.org, zlib: added in 22.15). */
function compressed(chunk: Uint8Array): { compression: string; compressedData: Uint8Array } {
  if (typeof zlib.zstdCompressSync !== "function") return { compression: "", compressedData: chunk };
  return { compression: "zstd", compressedData: zlib.zstdCompressSync(chunk) };
}

/** The library uses its buffer again after each write: the bytes are on disk when this answers. */
function writerTo(file: NewFile): McapWriter {
  let written = 0n;
  const writable = {
    async write(bytes: Uint8Array) {
      file.write(bytes);
      written += BigInt(bytes.byteLength);
    },
    position: () => written,
  };
  return new McapWriter({ writable, compressChunk: compressed });
}

/** Runs of one car have one schema; readers find schemas by name, so another one has another. */
function schemasOf(writer: McapWriter): (schema: string) => Promise<number> {
  const known = new Map<string, number>();
  return async (schema) => {
    const before = known.get(schema);
    if (before !== undefined) return before;
    const name = known.size === 0 ? SCHEMA_NAME : `${SCHEMA_NAME}_${known.size + 1}`;
    const id = await writer.registerSchema({ name, encoding: "jsonschema", data: Buffer.from(schema) });
    known.set(schema, id);
    return id;
  };
}

async function addRun(writer: McapWriter, schemaId: number, run: McapRun): Promise<void> {
  const topic = topicOf(run);
  const channelId = await writer.registerChannel({ topic, schemaId, messageEncoding: "json", metadata: new Map(channelFacts(run)) });
  await writer.addMetadata({ name: topic, metadata: new Map(runFacts(run)) });
  let sequence = 0;
  for (const { logTime, json } of messagesOf(run)) {
    await writer.addMessage({ channelId, sequence, logTime, publishTime: logTime, data: Buffer.from(json) });
    sequence += 1;
  }
}

export async function writeMcap({ softwareVersion, signal, ...options }: McapOptions, runs: Iterable<McapRun>): Promise<void> {
  const file = beginFile(options);
  try {
    const writer = writerTo(file);
    await writer.start({ profile: "", library: `gripbook ${softwareVersion}` });
    const schemaOf = schemasOf(writer);
    for (const run of runs) {
      await addRun(writer, await schemaOf(messageSchema(run.table)), run);
      await setImmediate();
      if (signal.aborted) throw new RangeError("Stopped: nothing was written");
    }
    await writer.end();
    file.keep();
  } finally {
    file.drop();
  }
}
