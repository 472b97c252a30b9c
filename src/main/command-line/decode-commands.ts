/**
 * `decode`: reads candump lines, prints a JSON line for each frame. `epochs`: reads NMEA 0183, prints a JSON line for each epoch. Other
 * lines are counted on stderr.
 */
import type { Command } from "commander";
import { createCandumpParser } from "../../shared/frames/candump-parser.ts";
import { FrameBatch } from "../../shared/frames/frame-batch.ts";
import { createSignalDatabase, decodeFrame } from "../../shared/dbc/dbc-decode.ts";
import { parseDbc } from "../../shared/dbc/dbc-file.ts";
import { decodeFileText } from "../../shared/dbc/text-encoding.ts";
import { epochLine } from "../../shared/receiver/epoch-assembler.ts";
import { createReceiverReader } from "../../shared/receiver/receiver-bytes.ts";
import type { Epoch } from "../../shared/receiver/epoch-draft.ts";
import { MOST_SIGNAL_FILE_BYTES, readPlainFile } from "../disk/read-file.ts";
import { warn } from "./say.ts";
import { inputChunks, textOutput } from "./standard-input.ts";

function readDbc(file: string) {
  return parseDbc(file, decodeFileText(readPlainFile({ file, what: "Signal file" }, MOST_SIGNAL_FILE_BYTES)));
}

async function decode(files: readonly string[]): Promise<void> {
  const databases = files.map(readDbc);
  for (const { warnings } of databases) for (const line of warnings) warn(line);
  const database = createSignalDatabase(databases);
  const parser = createCandumpParser();
  const batch = new FrameBatch();
  const out = textOutput();
  const drain = async () => {
    let text = "";
    for (let row = 0; row < batch.length; row += 1) text += `${JSON.stringify(decodeFrame(database, batch, row))}\n`;
    batch.clear();
    await out.write(text);
  };
  for await (const chunk of inputChunks()) {
    parser.push(chunk, 0, batch);
    await drain();
  }
  parser.flush(batch);
  await drain();
  await out.end();
  const { malformedLines, overlongLines } = parser.counts;
  if (malformedLines + overlongLines > 0) warn(`${malformedLines + overlongLines} lines were no frames: expected (sec.micros) can0 ID#HEX`);
}

async function epochs(): Promise<void> {
  const receiver = createReceiverReader();
  const out = textOutput();
  let text = "";
  const take = (epoch: Epoch) => {
    text += `${JSON.stringify(epochLine(epoch))}\n`;
  };
  for await (const chunk of inputChunks()) {
    receiver.push(chunk, 0, take);
    await out.write(text);
    text = "";
  }
  receiver.flush(take);
  await out.write(text);
  await out.end();
  const { sentences, badChecksums, missingChecksums, unknown, proprietary } = receiver.sentences;
  warn(
    `${receiver.counts.epochs} epochs; ${sentences} sentences, ${badChecksums} bad checksums, ${missingChecksums} without a checksum, ${unknown} unknown, ${proprietary} of a maker's own`,
  );
}

export function addDecodeCommands(program: Command): void {
  program
    .command("decode")
    .description("candump lines on standard input to a JSON line a frame")
    .requiredOption("--dbc <files...>", "signal files")
    .action((options: { dbc: string[] }) => decode(options.dbc));
  program.command("epochs").description("NMEA 0183 on standard input to a JSON line an epoch").action(epochs);
}
