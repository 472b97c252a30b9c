/** What must hold before driving, one line each: seen, not seen yet, or wrong with the way out. What cannot be known is never green. */
import { TWO_SIDED_95, median } from "../kernel/statistics.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import type { SetUp } from "../setup/set-up.ts";
import { type CarFacts, checkRole, type RoleCheck } from "../signals/check-role.ts";
import { SURVEY_STEP_S } from "../signals/signal-survey.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";
import type { SourceHealth } from "./live-view.ts";

export const CHECK_KEYS = ["fix", "bus", "signs", "calibration", "disk", "battery", "clock", "antenna"] as const;
export type CheckKey = (typeof CHECK_KEYS)[number];

export interface BeforeCheck {
  readonly key: CheckKey;
  readonly name: string;
  /** open: not seen yet, or nobody can tell. */
  readonly state: "green" | "open" | "wrong";
  /** What was seen, with its figures. */
  readonly words: string;
  /** What to do; empty when green. */
  readonly remedy: string;
}

/** The last minutes of a recording and the calibration now in force. */
export interface RecentDrive {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  /** Fitted in this recording; else it is an earlier one's, or the set-up's. */
  readonly fittedHere: boolean;
}

export interface HostFacts {
  /** Where the book lies; null unknown. */
  readonly freeBytes: number | null;
  /** Null where the computer tells nothing of a battery. */
  readonly power: { readonly share: number | null; readonly charging: boolean } | null;
}

export interface BeforeInput {
  readonly setUp: SetUp;
  readonly gnss: SourceHealth;
  readonly can: SourceHealth;
  /** Null before the first byte. */
  readonly drive: RecentDrive | null;
  /** Hours since the recording that the calibration in force came from; null where it came from none. */
  readonly calibrationAgeH: number | null;
  readonly host: HostFacts;
  readonly antennaConfirmed: boolean;
}

const LEAST_HZ = 5;
const WORST_HDOP = 2;
const FEWEST_SATELLITES = 6;
const RECENT_S = 5;
/** A full 1 Mbit/s bus fills about 0.9 GB an hour (8,756 frames/s of some 27 bytes as text): a long test day. */
const LEAST_FREE_BYTES = 5e9;
/** An afternoon on a laptop with a lit screen, no source. */
const LEAST_BATTERY = 0.5;
/** Tyres warm up, lose air and are swapped from day to day. */
const FRESH_FOR_H = 12;
const GOOD_RADIUS_SHARE = 0.004;
const GOOD_DELAY_S = 0.015;
/** Of one mapped time: a tenth of the 10 Hz epoch's worth of a launch's start. */
const GOOD_GNSS_CLOCK_S = 0.003;
const GOOD_CAN_CLOCK_S = 0.002;

type Said = Omit<BeforeCheck, "key" | "name">;
const green = (words: string): Said => ({ state: "green", words, remedy: "" });
const open = (words: string, remedy: string): Said => ({ state: "open", words, remedy });
const wrong = (words: string, remedy: string): Said => ({ state: "wrong", words, remedy });

function fix({ gnss, drive }: BeforeInput): Said {
  if (gnss.state !== "fresh" || drive === null)
    return (gnss.state === "wrong" || gnss.state === "absent" ? wrong : open)(gnss.words, "see Wiring: port, baud, cable; then open sky");
  const { epochs } = drive.recording;
  const from = indexAtOrBefore(epochs.tS, drive.recording.endS - RECENT_S) + 1;
  const last = epochs.tS.length - 1;
  const stepS = median(epochs.tS.subarray(from + 1).map((t, i) => t - epochs.tS[from + i]));
  if (!(stepS > 0)) return open(gnss.words, "wait a few seconds");
  const hz = 1 / stepS;
  const kind = epochs.fix[last];
  const [hdop, satellites] = [epochs.hdop[last], epochs.satellites[last]];
  const seen = [
    `${kind} fix`,
    `${hz.toFixed(hz < 9.5 ? 1 : 0)} Hz`,
    Number.isFinite(satellites) ? `${satellites} satellites` : "",
    Number.isFinite(hdop) ? `HDOP ${hdop.toFixed(1)}` : "",
  ];
  const words = seen.filter((part) => part !== "").join(", ");
  if (kind === "none" || kind === "estimated" || kind === "2d") return wrong(words, "wait under open sky until the fix is 3d");
  if (hz < 0.98 * LEAST_HZ)
    return wrong(
      words,
      `set the receiver to at least ${LEAST_HZ} epochs a second, 10 if it can: below that times are shown and should not be compared`,
    );
  if (hdop > WORST_HDOP || satellites < FEWEST_SATELLITES)
    return wrong(words, `wait for HDOP under ${WORST_HDOP} and ${FEWEST_SATELLITES} satellites, or move away from walls and trees`);
  return green(words);
}

const NAMES = {
  motorSpeed: "motor speed",
  torqueRequest: "requested torque",
  torqueDelivered: "delivered torque",
  pedal: "pedal",
} as const;
const NEEDED = ["motorSpeed", "torqueRequest", "torqueDelivered", "pedal"] as const;

function bus({ can, drive, setUp }: BeforeInput): Said {
  if (can.state !== "fresh" || drive === null)
    return (can.state === "wrong" || can.state === "absent" ? wrong : open)(can.words, "see Wiring: port, bit rate, car awake");
  const { roles, endS } = drive.recording;
  const silent = NEEDED.filter((role) => {
    const heard = roles[role]?.tS;
    return setUp.signals[role] !== undefined && (heard === undefined || !(endS - (heard[heard.length - 1] ?? Number.NaN) < RECENT_S));
  });
  if (silent.length > 0)
    return wrong(
      `${can.words}, but nothing of ${silent.map((role) => NAMES[role]).join(", ")}`,
      "wake the car up, or choose these signals anew in Wiring",
    );
  return green(can.words);
}

/** Held columns on the grid that checkRole reads. */
function onGrid(tS: Float64Array, value: Float64Array, fromS: number, count: number): Float64Array {
  return Float64Array.from({ length: count }, (_, k) => {
    const t = fromS + k * SURVEY_STEP_S;
    const i = indexAtOrBefore(tS, t);
    return i >= 0 && t - tS[i] < 0.5 ? value[i] : Number.NaN;
  });
}

function signs({ drive, setUp }: BeforeInput): Said {
  if (drive === null) return open("not driven yet", "drive forward above 20 km/h, once briskly");
  const { recording, calibration } = drive;
  const { epochs, roles, endS } = recording;
  const radius = calibration.rollingRadiusM;
  const fromS = epochs.tS[0] ?? endS;
  const count = Math.max(0, Math.floor((endS - fromS) / SURVEY_STEP_S));
  const delayS = calibration.gnssDelayS.value;
  const ground = onGrid(
    epochs.tS.map((t) => t - delayS),
    epochs.speedMps,
    fromS,
    count,
  );
  const car: CarFacts = { gearRatio: setUp.car.gearRatio, massKg: setUp.car.massKg, rollingRadiusM: radius.value };
  const told = (["motorSpeed", "torqueDelivered"] as const).map((role): RoleCheck & { name: string } => {
    const column = roles[role];
    const unit = role === "motorSpeed" ? "rad/s" : "Nm";
    return column === undefined
      ? { name: NAMES[role], verdict: "cannot tell yet", why: "not heard" }
      : { name: NAMES[role], ...checkRole(role, onGrid(column.tS, column.value, fromS, count), unit, ground, car) };
  });
  const refused = told.find(({ verdict }) => verdict === "refused");
  if (refused !== undefined)
    return wrong(`${refused.name}: ${refused.why}`, "mend it in Wiring: invert the signal, or correct ratio, radius or unit");
  // A radius is only ever fitted to a motor that turns forwards as the car goes forwards.
  if (told.every(({ verdict }) => verdict === "fits") || (radius.from === "calibrated" && calibration.slipPerNm.from === "calibrated"))
    return green("speed, torque and the car agree which way is forward");
  const missing = told.filter(({ verdict }) => verdict !== "fits").map(({ name, why }) => `${name}: ${why}`);
  return open(missing.join("; "), "drive forward above 20 km/h, once briskly");
}

const FROM = { calibrated: "calibrated", "set-up": "from the set-up", unknown: "unknown" } as const;

function oldWords(ageH: number): string {
  const hours = Math.round(ageH);
  return hours === 0 ? "under an hour old" : `${hours} hour${hours === 1 ? "" : "s"} old`;
}

function calibrated({ drive, calibrationAgeH }: BeforeInput): Said {
  const remedy = "drive two minutes gently: on and off the pedal, slow and fast, no brakes";
  if (drive === null) return open("no recording yet", remedy);
  const { rollingRadiusM: radius, gnssDelayS: delay } = drive.calibration;
  if (radius.from !== "calibrated" || delay.from !== "calibrated")
    return wrong(`rolling radius ${FROM[radius.from]}, receiver delay ${FROM[delay.from]}, so intervals are wider`, remedy);
  const words = `radius ${radius.value.toFixed(4)} ± ${radius.plusMinus95.toFixed(4)} m, delay ${(1000 * delay.value).toFixed(0)} ± ${(1000 * delay.plusMinus95).toFixed(0)} ms`;
  const age = calibrationAgeH === null ? "of an unknown day" : oldWords(calibrationAgeH);
  if (!drive.fittedHere && (calibrationAgeH === null || calibrationAgeH > FRESH_FOR_H))
    return wrong(`${words}, ${age}: tyres and pressures may differ`, remedy);
  if (radius.plusMinus95 > GOOD_RADIUS_SHARE * radius.value || delay.plusMinus95 > GOOD_DELAY_S)
    return wrong(`${words}: still loose`, remedy);
  return green(`${words}, ${drive.fittedHere ? "fitted on this drive" : age}`);
}

function disk({ host: { freeBytes } }: BeforeInput): Said {
  if (freeBytes === null) return open("this computer does not say how much is free", "look yourself: 5 GB hold a long day");
  const words = `${(freeBytes / 1e9).toFixed(1)} GB free where the book lies`;
  return freeBytes < LEAST_FREE_BYTES
    ? wrong(words, "free 5 GB, or keep the book on another drive: a full bus fills about 1 GB an hour")
    : green(words);
}

function battery({ host: { power } }: BeforeInput): Said {
  if (power === null)
    return open("this computer tells nothing of a battery", "look yourself, and note how full it is or that it hangs on mains");
  const words = `${power.share === null ? "charge unknown" : `${(100 * power.share).toFixed(0)} %`}, ${power.charging ? "on mains" : "on battery"}`;
  if (power.charging || (power.share !== null && power.share >= LEAST_BATTERY)) return green(words);
  return (power.share === null ? open : wrong)(words, "plug it in, or charge it over 50 %");
}

function clock({ drive, setUp }: BeforeInput): Said {
  const clocks = drive?.recording.clocks ?? { gnss: null, can: null };
  const { gnss, can } = clocks;
  if (gnss === null || (can === null && setUp.signals.motorSpeed !== undefined))
    return open("not enough heard yet", "wait until both sources spoke for some seconds");
  const ms = (seconds: number) => `${(1000 * seconds).toFixed(1)} ms`;
  const words = `receiver ± ${ms(TWO_SIDED_95 * gnss.sigmaS)}${can === null ? "" : `, bus ± ${ms(TWO_SIDED_95 * can.sigmaS)} by ${can.method}`}`;
  if (gnss.sigmaS > GOOD_GNSS_CLOCK_S) return wrong(words, "use the receiver's USB, or a faster baud: its lines arrive too unevenly");
  if (can !== null && can.sigmaS > GOOD_CAN_CLOCK_S)
    return wrong(words, "switch the adapter's time stamps on (adapterClock), or plug it in without a hub");
  return green(words);
}

/** No data tells a taped antenna from one that will slide at the first launch: a person looks. */
const antenna = ({ antennaConfirmed }: BeforeInput): Said =>
  antennaConfirmed
    ? green("seen by a person in this sitting")
    : open("nobody looked yet", "see that it is fixed, lies flat under open sky, and that its cable does not pull; then tick it");

const CHECKS: readonly (readonly [CheckKey, string, (input: BeforeInput) => Said])[] = [
  ["fix", "Fix and rate", fix],
  ["bus", "Bus alive", bus],
  ["signs", "Signs right", signs],
  ["calibration", "Calibration fresh", calibrated],
  ["disk", "Free disk", disk],
  ["battery", "Laptop battery", battery],
  ["clock", "Clock fit", clock],
  ["antenna", "Antenna fixed", antenna],
];

/** The list, in the order that people go through it. */
export function beforeDriving(input: BeforeInput): BeforeCheck[] {
  return CHECKS.map(([key, name, check]) => ({ key, name, ...check(input) }));
}
