/**
 * A second-car drive as the bytes a laptop would have stored: candump, SLCAN and NMEA logs with arrival stamps,
 * signal file, set-up, truth. Pure text; a value that does not fit its 16 bits throws.
 */
import type { Field, Frame, Message } from "./bus.ts";
import type { SecondCarDrive } from "./second-car.ts";
import { setUpOf } from "./second-car.ts";

/** Arrival stamps count from here; any start would do. */
export const WALL_S = 1935655200;

export interface DriveFiles {
  readonly "bus.log": string;
  readonly "bus.slcan": string;
  readonly "receiver.nmea": string;
  readonly "car.dbc": string;
  readonly "setup.json": string;
  readonly "truth.json": string;
}

/** `(sec.micros)` of an arrival. */
function stamp(arrivalS: number): string {
  const micros = Math.round(arrivalS * 1e6);
  const whole = Math.floor(micros / 1e6);
  return `(${WALL_S + whole}.${String(micros - whole * 1e6).padStart(6, "0")})`;
}

function hexOf(frame: Frame): string {
  return frame.raw
    .map((raw, i) => {
      const field = frame.message.fields[i];
      const [low, high] = field.signed ? [-32768, 32767] : [0, 65535];
      if (raw < low || raw > high) throw new RangeError(`Second car: ${field.signal} raw ${raw} does not fit 16 bits`);
      const word = raw & 0xffff;
      return ((word & 0xff).toString(16).padStart(2, "0") + (word >> 8).toString(16).padStart(2, "0")).toUpperCase();
    })
    .join("");
}

const idOf = (message: Message): string => message.id.toString(16).toUpperCase().padStart(3, "0");

function checked(body: string): string {
  let sum = 0;
  for (let i = 0; i < body.length; i += 1) sum ^= body.charCodeAt(i);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, "0")}`;
}

function degrees(value: number, width: number, positive: string, negative: string): string {
  const size = Math.abs(value);
  const whole = Math.floor(size);
  return `${String(whole).padStart(width, "0")}${((size - whole) * 60).toFixed(5).padStart(8, "0")},${value >= 0 ? positive : negative}`;
}

function nmea(drive: SecondCarDrive): string {
  const decimals = drive.recipe.receiver.stepKnots < 0.005 ? 3 : 2;
  const lines: string[] = [];
  for (const e of drive.receiver.epochs) {
    const iso = new Date(e.utcMs).toISOString();
    const time = `${iso.slice(11, 13)}${iso.slice(14, 16)}${iso.slice(17, 19)}.${iso.slice(20, 22)}0`;
    const date = `${iso.slice(8, 10)}${iso.slice(5, 7)}${iso.slice(2, 4)}`;
    const place = `${degrees(e.latDeg, 2, "N", "S")},${degrees(e.lonDeg, 3, "E", "W")}`;
    const course = Number.isNaN(e.courseDeg) ? "" : e.courseDeg.toFixed(2);
    const at = stamp(e.arrivalS);
    lines.push(`${at} ${checked(`GNRMC,${time},A,${place},${e.knots.toFixed(decimals)},${course},${date},,,A`)}`);
    lines.push(`${at} ${checked(`GNGGA,${time},${place},1,14,0.8,${e.altM.toFixed(1)},M,0.0,M,,`)}`);
  }
  return `${lines.join("\r\n")}\r\n`;
}

function dbc(messages: readonly Message[]): string {
  const line = (f: Field, i: number): string =>
    ` SG_ ${f.signal} : ${16 * i}|16@1${f.signed ? "-" : "+"} (${f.factor},0) [0|0] "${f.unit}" Laptop`;
  const blocks = messages.map((m) => [`BO_ ${m.id} ${m.name}: ${2 * m.fields.length} Car`, ...m.fields.map(line)].join("\n"));
  return `VERSION ""\n\nNS_ :\n\nBS_:\n\nBU_: Car Laptop\n\n${blocks.join("\n\n")}\n`;
}

/** UTC of a moment of the drive, by the receiver's own clock. */
function utcOf(drive: SecondCarDrive, tS: number): string {
  const first = drive.receiver.epochs[0];
  const ageless = drive.receiver.epochs.reduce(
    (least, e) => Math.min(least, e.arrivalS - (e.utcMs - first.utcMs) / 1000),
    Number.POSITIVE_INFINITY,
  );
  const zeroMs = first.utcMs - (ageless - drive.recipe.receiver.transportS) * 1000;
  return new Date(zeroMs + tS * 1000).toISOString();
}

function truthJson(drive: SecondCarDrive): string {
  const { truth } = drive;
  const runs = truth.launches.map((l) => ({
    label: `traction control ${l.control ? "on" : "off"}`,
    movementUtc: utcOf(drive, l.movementS),
    gates: l.gates.map((g) => ({
      gate: g.gate,
      start: g.start,
      seconds: g.seconds,
      ...(g.exitSpeedMps === undefined ? {} : { exitSpeedKmh: g.exitSpeedMps * 3.6 }),
    })),
    peakSlipRatio: l.peakSlipRatio,
    peakSlipSpeedKmh: l.peakSlipMps * 3.6,
  }));
  return `${JSON.stringify({ runs, rollingRadiusM: truth.rollingRadiusM, gnssDelayS: truth.gnssDelayS }, null, 2)}\n`;
}

/** All files of a drive. */
export function filesOf(drive: SecondCarDrive): DriveFiles {
  const dump: string[] = [];
  const slcan: string[] = [];
  for (const frame of drive.bus.frames) {
    const at = stamp(frame.arrivalS);
    const hex = hexOf(frame);
    dump.push(`${at} can0 ${idOf(frame.message)}#${hex}`);
    const clock = drive.recipe.bus.stamps ? (frame.stampMs % 60000).toString(16).toUpperCase().padStart(4, "0") : "";
    slcan.push(`${at} t${idOf(frame.message)}${hex.length / 2}${hex}${clock}`);
  }
  return {
    "bus.log": `${dump.join("\n")}\n`,
    "bus.slcan": `${slcan.join("\n")}\n`,
    "receiver.nmea": nmea(drive),
    "car.dbc": dbc(drive.bus.messages),
    "setup.json": `${JSON.stringify(setUpOf(drive.recipe), null, 2)}\n`,
    "truth.json": truthJson(drive),
  };
}
