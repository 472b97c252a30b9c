/** What is asked and told about what the core works from: Wiring, Car, and gates of one's own. Part of the contract; checked at the edge like the rest. */
import * as v from "valibot";
import type { Figure } from "../align/calibration.ts";
import { plainFileName } from "./plain-file-name.ts";
import type { CalibrationProgress } from "../align/calibration-progress.ts";
import type { Gate } from "../launch/gate.ts";
import type { DraftSetUp } from "../setup/draft-set-up.ts";
import type { SourceHealth } from "../pipeline/live-view.ts";
import { ROLE_NAMES, type RoleView, type SignalView } from "../wiring/signal-views.ts";

export type { CheckView, RoleName, RoleView, SignalView } from "../wiring/signal-views.ts";

/** No gate lies above or beyond. */
export const FASTEST_MPS = 150;
export const LONGEST_M = 5000;

const role = v.picklist(ROLE_NAMES);
const path = v.pipe(v.string(), v.trim(), v.minLength(1, "expected a port, got an empty text"), v.maxLength(400));
const choice = v.strictObject({ signal: v.pipe(v.string(), v.maxLength(300)), invert: v.boolean() });
const stream = v.picklist(["gnss", "can"]);
const speedMps = v.pipe(v.number(), v.minValue(0), v.maxValue(FASTEST_MPS));
const gateName = v.pipe(v.string(), v.trim(), v.minLength(1, "expected a name, got an empty text"), v.maxLength(60));
const gate = v.variant("kind", [
  v.strictObject({ kind: v.literal("standing"), name: gateName, toMps: speedMps }),
  v.strictObject({ kind: v.literal("rolling"), name: gateName, fromMps: speedMps, toMps: speedMps }),
  v.strictObject({ kind: v.literal("distance"), name: gateName, distanceM: v.pipe(v.number(), v.minValue(0), v.maxValue(LONGEST_M)) }),
  v.strictObject({ kind: v.literal("stop"), name: gateName, fromMps: speedMps }),
]) satisfies v.GenericSchema<unknown, Gate>;

/** Whether a value from outside, such as a book, is a gate. */
export const isGate = (value: unknown): value is Gate => v.is(gate, value);

/** As large as one that a set-up may name. */
const signalFileText = v.pipe(v.string(), v.maxLength(16_000_000, "expected a signal file of at most 16 MB"));
const lineKind = v.picklist(["uart", "usb"]);
const pressure = v.nullable(v.pipe(v.number(), v.minValue(50), v.maxValue(1000)));

export const WIRING_REQUESTS = {
  "wiring.read": v.strictObject({}),
  "wiring.search": v.strictObject({ role, text: v.pipe(v.string(), v.maxLength(100)) }),
  /** An empty list takes the role's signals away. `anyway` overrides doubts, never a reversed sign or a wrong ratio. */
  "wiring.choose": v.strictObject({ role, choices: v.pipe(v.array(choice), v.maxLength(8)), anyway: v.boolean() }),
  /** Adds a signal file's text beside the set-up. */
  "wiring.file": v.strictObject({ name: plainFileName, text: signalFileText }),
  /** Listens on every port there is, and on those named. */
  "wiring.ports": v.strictObject({ more: v.pipe(v.array(path), v.maxLength(8)) }),
  /** Baud null: found by listening. Port null takes the source away. Line absent: as it was, or as the port's name tells; null: not known. */
  "wiring.source": v.strictObject({
    stream,
    port: v.nullable(path),
    baud: v.nullable(v.pipe(v.number(), v.integer(), v.minValue(300), v.maxValue(12_000_000))),
    line: v.optional(v.nullable(lineKind)),
  }),
  "wiring.swap": v.strictObject({}),
  /** Tries the bus's bit rates, listening only; the person has confirmed that the drive is disabled. */
  "wiring.bitrate": v.strictObject({ driveDisabled: v.literal(true, "expected the drive to be confirmed as disabled") }),
  /** Closes both ports, listens on them anew, opens them again. */
  "wiring.check": v.strictObject({}),
  /** From the simulated car to an empty set-up of one's own. */
  "wiring.own": v.strictObject({}),
  /** Takes an edit of the set-up back: the set-up as it was. */
  "setup.restore": v.strictObject({ setUp: v.record(v.string(), v.unknown()) }),
  "car.read": v.strictObject({}),
  /** Null takes an optional figure away. */
  "car.save": v.strictObject({ set: v.record(v.string(), v.nullable(v.union([v.string(), v.number()]))) }),
  /** Begins a guided calibration, or ends it: accepted, it becomes the car's; left, nothing changes. */
  "car.calibrate": v.strictObject({ step: v.picklist(["begin", "accept", "leave"]) }),
  "car.tyres": v.strictObject({ tyres: v.nullable(v.pipe(v.string(), v.maxLength(200))), pressureKpa: pressure }),
  /** A gate of one's own, as typed: "20 km/h", "100 m". Stored runs are timed by it at once; the recording is closed for that. */
  "gates.add": v.strictObject({ name: gateName, from: v.pipe(v.string(), v.maxLength(40)), to: v.pipe(v.string(), v.maxLength(40)) }),
  /** Exactly these are the book's own gates from now on. */
  "gates.own": v.strictObject({ gates: v.pipe(v.array(gate), v.maxLength(60)) }),
} as const;

export type WiringRequestName = keyof typeof WIRING_REQUESTS;

/** `request` takes the edit back. */
export interface SetUpEdited {
  readonly undo: { readonly name: "setup.restore"; readonly argument: unknown };
}

/** `request` takes the edit back. */
export interface GatesEdited {
  readonly undo: { readonly name: "gates.own"; readonly argument: unknown };
}

export interface Refused {
  readonly refused: string;
  readonly reversed: boolean;
  /** Whether a person may use it all the same. */
  readonly mayOverride: boolean;
}

/** "unheard": listening on it was cancelled, so nothing is written there. */
export type PortTrouble = "silent" | "wrongBaud" | "garbage" | "receiverHere" | "adapterHere" | "unheard" | "trouble";

export interface SourceView {
  readonly port: string;
  readonly baud: number;
  readonly bitrate: number | null;
  /** What its bytes come over, as the set-up says; null where it does not. */
  readonly line: "uart" | "usb" | null;
  readonly health: SourceHealth;
  /** What listening on the port found wrong; null when nothing or when it was not listened to yet. */
  readonly trouble: PortTrouble | null;
  readonly words: string;
  /** A baud at which the port made sense, where the set-up has another. */
  readonly rightBaud: number | null;
}

export interface WiringView {
  readonly file: string | null;
  readonly simulated: boolean;
  /** Null once everything needed is there; else what is missing, first things first. */
  readonly missing: "signal file" | "receiver" | "adapter" | "car" | "signals" | null;
  readonly carMissing: readonly string[];
  readonly signalFiles: readonly { readonly name: string; readonly signals: number }[];
  readonly gnss: SourceView | null;
  readonly can: SourceView | null;
  /** The receiver talks on the adapter's port and not on its own. */
  readonly swapped: boolean;
  readonly groundSpeedMps: number | null;
  readonly roles: readonly RoleView[];
}

export interface PortFound {
  readonly path: string;
  readonly description: string;
  readonly talks: string;
  readonly receiverBaud: number | null;
  /** What its bytes come over, as the system tells; null where it does not. */
  readonly line: "uart" | "usb" | null;
}

export interface CarView {
  readonly draft: DraftSetUp["car"];
  readonly missing: readonly string[];
  readonly simulated: boolean;
  readonly calibration: null | {
    readonly id: number | null;
    readonly rollingRadiusM: Figure;
    readonly gnssDelayS: Figure;
    readonly slipPerNm: Figure;
    readonly notes: readonly string[];
    readonly recordedAt: string | null;
    /** What was noted of the tyres when it was accepted. */
    readonly tyres: { readonly tyres: string | null; readonly pressureKpa: number | null };
  };
  /** Half width of slip's 95 % interval from the radius, as a share; null while the radius is unknown. */
  readonly slipShare: number | null;
  readonly stale: readonly string[];
  readonly tyres: { readonly tyres: string | null; readonly pressureKpa: number | null };
  readonly guided: null | (CalibrationProgress & { readonly radiusM: number; readonly delayS: number; readonly seconds: number });
}

export interface WiringAnswers {
  "wiring.read": WiringView;
  "wiring.search": readonly SignalView[];
  "wiring.choose": SetUpEdited | Refused;
  "wiring.file": SetUpEdited;
  "wiring.ports": readonly PortFound[];
  "wiring.source": SetUpEdited;
  "wiring.swap": SetUpEdited;
  "wiring.bitrate":
    | (SetUpEdited & { readonly bitrate: number; readonly words: string })
    | { readonly bitrate: null; readonly words: string };
  "wiring.check": WiringView;
  "wiring.own": { readonly file: string };
  "setup.restore": SetUpEdited;
  "car.read": CarView;
  "car.save": SetUpEdited;
  "car.calibrate": CarView;
  "car.tyres": CarView;
  "gates.add": GatesEdited;
  "gates.own": GatesEdited;
}
