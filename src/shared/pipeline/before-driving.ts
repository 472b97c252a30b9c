/**
 * What must hold before driving, one line each: confirmed, not confirmed yet, or wrong with its remedy. What cannot be known is never
 * green.
 */
import { isOnceASecond, ONCE_A_SECOND } from "../receiver/once-a-second.ts";
import { fixWords } from "../receiver/fix-words.ts";
import { FEWEST_SATELLITES, WORST_HDOP } from "../run/flags.ts";
import { TWO_SIDED_95, median } from "../kernel/statistics.ts";
import { saidKmh } from "../kernel/shown-units.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import type { SetUp } from "../setup/set-up.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";
import { carFacts, checkDriven, checkPair, ROLE_WORDS, tracesOf } from "./drive-checks.ts";
import type { SourceHealth } from "./live-view.ts";

export const CHECK_KEYS = ["fix", "bus", "signs", "calibration", "disk", "battery", "clock", "antenna"] as const;
export type CheckKey = (typeof CHECK_KEYS)[number];

export interface BeforeCheck {
  readonly key: CheckKey;
  readonly name: string;
  /** open: not confirmed yet, or nothing can confirm it. */
  readonly state: "green" | "open" | "wrong";
  /** What was seen, with its figures. */
  readonly words: string;
  /** What to do; empty when green. */
  readonly remedy: string;
}

/** The last minutes of a recording, and the calibration now in use. */
interface RecentDrive {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  /** True if fitted in this recording; otherwise it comes from an earlier one or from the set-up. */
  readonly fittedHere: boolean;
}

export interface HostFacts {
  /** Free space where the book is stored; null unknown. */
  readonly freeBytes: number | null;
  /** Null where the computer gives no battery information. */
  readonly power: { readonly share: number | null; readonly charging: boolean } | null;
}

export interface BeforeInput {
  readonly setUp: SetUp;
  readonly gnss: SourceHealth;
  readonly can: SourceHealth;
  /** Null before the first byte. */
  readonly drive: RecentDrive | null;
  /** Age in hours of the recording from which the present calibration comes; null where it comes from none. */
  readonly calibrationAgeH: number | null;
  readonly host: HostFacts;
  readonly antennaConfirmed: boolean;
}

const LEAST_HZ = 5;
const RECENT_S = 5;
/** A full 1 Mbit/s bus writes about 0.9 GB an hour (8,756 frames/s of about 27 bytes as text); this is enough for a long test day. */
const LEAST_FREE_BYTES = 5e9;
/** Enough for an afternoon on a laptop with a bright screen; no source. */
const LEAST_BATTERY = 0.5;
/** After this many hours tyres may have warmed up, lost air or been changed. */
const FRESH_FOR_H = 12;
const GOOD_RADIUS_SHARE = 0.004;
const GOOD_DELAY_S = 0.015;
/** Standard deviation of one mapped time: a tenth of what a 10 Hz epoch means for a launch's start. */
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
    fixWords(kind),
    `${hz.toFixed(hz < 9.5 ? 1 : 0)} Hz`,
    Number.isFinite(satellites) ? `${satellites} satellites` : "",
    Number.isFinite(hdop) ? `HDOP ${hdop.toFixed(1)}` : "",
  ];
  const words = seen.filter((part) => part !== "").join(", ");
  if (kind === "none" || kind === "estimated" || kind === "2d") return wrong(words, "wait under open sky until the fix is 3D");
  if (isOnceASecond(hz)) return wrong(words, ONCE_A_SECOND);
  if (hz < 0.98 * LEAST_HZ)
    return wrong(
      words,
      `set the receiver to at least ${LEAST_HZ} Hz, 10 Hz if it can: below that times are shown and should not be compared`,
    );
  if (hdop > WORST_HDOP || satellites < FEWEST_SATELLITES)
    return wrong(words, `wait for HDOP under ${WORST_HDOP} and ${FEWEST_SATELLITES} satellites, or move away from walls and trees`);
  return green(words);
}

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
      `${can.words}, but nothing of ${silent.map((role) => ROLE_WORDS[role]).join(", ")}`,
      "wake the car up, or choose these signals anew in Wiring",
    );
  return green(can.words);
}

const FORWARD = `drive forward above ${saidKmh(20)}, once briskly`;

function signs({ drive, setUp }: BeforeInput): Said {
  if (drive === null) return open("not driven yet", FORWARD);
  const { recording, calibration } = drive;
  const radius = calibration.rollingRadiusM;
  const traces = tracesOf(recording, calibration.gnssDelayS.value);
  const car = carFacts(setUp, calibration);
  const told = (["motorSpeed", "torqueDelivered"] as const).map((role) => ({
    name: ROLE_WORDS[role],
    ...checkDriven(role, recording, traces, car),
  }));
  const pair = checkPair(recording);
  const refused =
    told.find(({ verdict }) => verdict === "refused") ?? (pair.verdict === "refused" ? { name: "torque", ...pair } : undefined);
  if (refused !== undefined)
    return wrong(`${refused.name}: ${refused.why}`, "fix it in Wiring: invert or swap the signals, or correct ratio, radius or unit");
  // A radius is fitted only where the motor turns forwards while the car moves forwards.
  if (told.every(({ verdict }) => verdict === "fits") || (radius.from === "calibrated" && calibration.slipPerNm.from === "calibrated"))
    return green("speed, torque and the car agree which way is forward");
  const missing = told.filter(({ verdict }) => verdict !== "fits").map(({ name, why }) => `${name}: ${why}`);
  return open(missing.join("; "), FORWARD);
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
  if (freeBytes === null) return open("this computer does not say how much is free", "check it yourself: 5 GB are enough for a long day");
  const words = `${(freeBytes / 1e9).toFixed(1)} GB free where the book lies`;
  return freeBytes < LEAST_FREE_BYTES
    ? wrong(words, "free 5 GB, or keep the book on another drive: a full bus fills about 1 GB an hour")
    : green(words);
}

function battery({ host: { power } }: BeforeInput): Said {
  if (power === null) return open("no battery information", "check it yourself, and note how full it is or that it is on mains");
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
  if (gnss.sigmaS > GOOD_GNSS_CLOCK_S)
    return wrong(words, "use the receiver's USB, a faster baud, or a cable in place of Wi-Fi: its lines arrive too unevenly");
  if (can !== null && can.sigmaS > GOOD_CAN_CLOCK_S)
    return wrong(words, "switch the adapter's time stamps on (adapterClock), or plug it in without a hub");
  return green(words);
}

/** No data shows whether an antenna is fixed or will slide at the first launch, so a person looks. */
const antenna = ({ antennaConfirmed }: BeforeInput): Said =>
  antennaConfirmed
    ? green("seen by a person in this session")
    : open("nobody looked yet", "see that it is fixed, lies flat under open sky, and that its cable does not pull; then tick it");

const CHECKS: readonly (readonly [CheckKey, string, (input: BeforeInput) => Said])[] = [
  ["fix", "Fix and rate", fix],
  ["bus", "Bus alive", bus],
  ["signs", "Signs of speed and torque", signs],
  ["calibration", "Calibration fresh", calibrated],
  ["disk", "Free disk", disk],
  ["battery", "Laptop battery", battery],
  ["clock", "Clocks", clock],
  ["antenna", "Antenna fixed", antenna],
];

/** The list, in the order in which people work through it. */
export function beforeDriving(input: BeforeInput): BeforeCheck[] {
  return CHECKS.map(([key, name, check]) => ({ key, name, ...check(input) }));
}
