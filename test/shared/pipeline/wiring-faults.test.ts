/** Each wrong wiring is named on a drive of either generator, by its kind, and nothing is on the right one. Hundreds of days: `npm run claims -- --only wiring`. */
import { expect, test } from "vitest";
import { alignRecording } from "../../../src/shared/align/align-recording.ts";
import { calibrate } from "../../../src/shared/align/calibrate.ts";
import { driveFaults } from "../../../src/shared/pipeline/wiring-faults.ts";
import { createDecodeStream } from "../../../src/shared/pipeline/decode-stream.ts";
import { createWiringWatch } from "../../../src/shared/pipeline/wiring-watch.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";
import { firstCarDrive, firstCarLines } from "../../claims/first-car.ts";
import { secondCarLines } from "../../claims/lined-drive.ts";
import { secondCarDrive } from "../../claims/known-drive.ts";
import { MISTAKES, type Wired } from "../../support/wrong-wiring.ts";

const SEED = 417;

function faultsOf({ tracks, setUp }: Wired) {
  const recording = alignRecording(tracks, setUp);
  return driveFaults(recording, setUp, calibrate(recording, setUp, null));
}

const DRIVES = { "the simulated car": firstCarDrive(SEED, {}), "the second car": secondCarDrive(SEED, {}, false) };

for (const [car, right] of Object.entries(DRIVES)) {
  test(`${car}: a right drive shows no fault`, () => expect(faultsOf(right)).toEqual([]));

  test.each(MISTAKES)(`${car}: $name is named, with what was seen and what to do`, ({ kind, make }) => {
    const faults = faultsOf(make(right));
    expect(faults.map((fault) => fault.kind)).toContain(kind);
    for (const { seen, remedy } of faults) for (const words of [seen, remedy]) expect(words.length).toBeGreaterThan(20);
  });
}

test("a shift is told to a third of a second, and its sign: early is negative", () => {
  for (const { name, make } of MISTAKES.filter(({ kind }) => kind === "shifted")) {
    const [fault] = faultsOf(make(DRIVES["the simulated car"]));
    expect(Math.abs((fault?.lateByS ?? 0) - (name.endsWith("late") ? 20 : -20))).toBeLessThan(0.35);
  }
});

test.each([310243, 310363, 310383])("wheels that spin for most of a noisy drive are no shifted log (second car, seed %i)", (seed) => {
  expect(faultsOf(secondCarDrive(seed, { noiseMps: 0.1, correlated: true }, false))).toEqual([]);
});

test("where the receiver never saw the car move, nothing is named", () => {
  const { tracks, setUp } = DRIVES["the simulated car"];
  const speedMps = tracks.epochs.speedMps.map(() => 0);
  expect(faultsOf({ tracks: { ...tracks, epochs: { ...tracks.epochs, speedMps } }, setUp })).toEqual([]);
});

for (const [car, lines] of Object.entries({ "the simulated car": firstCarLines(SEED, {}), "the second car": secondCarLines(SEED, {}) })) {
  const watched = (signalFile: string) => {
    const { setUp } = lines.known;
    const databases = [parseDbc("car.dbc", signalFile)];
    const stream = createDecodeStream({ setUp, databases, canFormat: "slcan" });
    for (const { stream: of, arrivalNs, text } of lines.lines) stream.push({ stream: of, arrivalNs, bytes: Buffer.from(text, "latin1") });
    stream.flush();
    const recording = alignRecording(stream.tracks(lines.lines.at(-1)?.arrivalNs ?? 0, []), setUp);
    const watch = createWiringWatch({ setUp, databases });
    watch.add(recording, calibrate(recording, setUp, null));
    return watch.faults(stream.frames());
  };

  test(`${car}: a signal file whose frames never came is named, with the frames that came instead`, () => {
    expect(watched(lines.signalFile)).toEqual([]);
    const [, id] = /^BO_ (\d+) Motor/m.exec(lines.signalFile) as RegExpExecArray;
    const hex = Number(id).toString(16).toUpperCase();
    const [fault] = watched(lines.signalFile.replaceAll(new RegExp(`^(BO_|VAL_) ${id} `, "gm"), "$1 1234 "));
    expect(fault).toMatchObject({ kind: "unseen", spoils: false });
    expect(fault?.what).toContain("(0x4D2)");
    expect(fault?.seen).toContain(`0x${hex} (`);
  });
}
