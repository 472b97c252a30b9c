/**
 * Requests and answers about what the core works from: Wiring, Car, and own gates. Part of the contract; checked at the edge like the rest.
 */
import * as v from "valibot";
import type { Figure } from "../align/calibration.ts";
import { plainFileName } from "./plain-file-name.ts";
import type { CalibrationProgress } from "../align/calibration-progress.ts";
import type { Gate } from "../launch/gate.ts";
import type { DraftSetUp } from "../setup/draft-set-up.ts";
import type { SourceHealth } from "../pipeline/live-view.ts";
import { otherSource } from "../setup/check-sources.ts";
import type { OtherSource } from "../setup/set-up.ts";
import { ROLE_NAMES, type RoleView, type SignalView } from "../wiring/signal-views.ts";

export type { CheckView, RoleName, RoleView, SignalView } from "../wiring/signal-views.ts";

/** No gate has a higher speed than this. */
export const FASTEST_MPS = 150;
export const LONGEST_M = 5000;

const role = v.picklist(ROLE_NAMES);
const path = v.pipe(v.string(), v.trim(), v.minLength(1, "expected a port, got an empty text"), v.maxLength(400));
const choice = v.strictObject({ signal: v.pipe(v.string(), v.maxLength(300)), invert: v.boolean() });
const stream = v.picklist(["gnss", "can"]);
const speedMps = v.pipe(v.number(), v.minValue(0), v.maxValue(FASTEST_MPS));
const gateName = v.pipe(v.string(), v.trim(), v.minLength(1, "expected a name, got an empty text"), v.maxLength(60));
const distanceM = v.pipe(v.number(), v.minValue(0), v.maxValue(LONGEST_M));
/** A kind of gate without a shape here does not compile. */
const GATE_SHAPES = {
  standing: v.strictObject({ kind: v.literal("standing"), name: gateName, toMps: speedMps }),
  rolling: v.strictObject({ kind: v.literal("rolling"), name: gateName, fromMps: speedMps, toMps: speedMps }),
  distance: v.strictObject({ kind: v.literal("distance"), name: gateName, distanceM }),
  stop: v.strictObject({ kind: v.literal("stop"), name: gateName, fromMps: speedMps }),
} satisfies { [K in Gate["kind"]]: v.GenericSchema<unknown, Extract<Gate, { readonly kind: K }>> };
const gate = v.variant("kind", Object.values(GATE_SHAPES));

/** Whether a value from outside, such as from a book, is a gate. */
export const isGate = (value: unknown): value is Gate => v.is(gate, value);

/** As large as a signal file that a set-up may name. */
const signalFileText = v.pipe(v.string(), v.maxLength(16_000_000, "expected a signal file of at most 16 MB"));
const lineKind = v.picklist(["uart", "usb"]);
const pressure = v.nullable(v.pipe(v.number(), v.minValue(50), v.maxValue(1000)));

export const WIRING_REQUESTS = {
  "wiring.read": v.strictObject({}),
  "wiring.search": v.strictObject({ role, text: v.pipe(v.string(), v.maxLength(100)) }),
  /** An empty list removes the role's signals. `anyway` overrules doubts, but never a reversed sign or a wrong ratio. */
  "wiring.choose": v.strictObject({ role, choices: v.pipe(v.array(choice), v.maxLength(8)), anyway: v.boolean() }),
  /** Stores a signal file's text beside the set-up. */
  "wiring.file": v.strictObject({ name: plainFileName, text: signalFileText }),
  /** Listens on every port of the computer and on those named. */
  "wiring.ports": v.strictObject({ more: v.pipe(v.array(path), v.maxLength(8)) }),
  /** Baud null: find it by listening. Port null: remove the source. Line absent: as before, or as the port's name shows; null: unknown. */
  "wiring.source": v.strictObject({
    stream,
    port: v.nullable(path),
    baud: v.nullable(v.pipe(v.number(), v.integer(), v.minValue(300), v.maxValue(12_000_000))),
    line: v.optional(v.nullable(lineKind)),
  }),
  /** A source that is no serial port, as the set-up names it. */
  "wiring.other": v.strictObject({ source: otherSource }),
  "wiring.swap": v.strictObject({}),
  /** Tries the bus's bit rates, listening only; the person has confirmed that the drive is disabled. */
  "wiring.bitrate": v.strictObject({ driveDisabled: v.literal(true, "expected the drive to be confirmed as disabled") }),
  /** Closes both ports, listens on them, and opens them again. */
  "wiring.check": v.strictObject({}),
  /** From the simulated car to an empty set-up of one's own car. */
  "wiring.own": v.strictObject({}),
  /** Undoes an edit of the set-up: the set-up as it was. */
  "setup.restore": v.strictObject({ setUp: v.record(v.string(), v.unknown()) }),
  "car.read": v.strictObject({}),
  /** Null removes an optional figure. */
  "car.save": v.strictObject({ set: v.record(v.string(), v.nullable(v.union([v.string(), v.number()]))) }),
  /** Begins a guided calibration, or ends it. When accepted it becomes the car's; when left, nothing changes. */
  "car.calibrate": v.strictObject({ step: v.picklist(["begin", "accept", "leave"]) }),
  "car.tyres": v.strictObject({ tyres: v.nullable(v.pipe(v.string(), v.maxLength(200))), pressureKpa: pressure }),
  /** Adds an own gate, as typed: "20 km/h", "100 m". Stored runs are timed by it at once; the recording is closed for that. */
  "gates.add": v.strictObject({ name: gateName, from: v.pipe(v.string(), v.maxLength(40)), to: v.pipe(v.string(), v.maxLength(40)) }),
  /** Sets the book's own gates to exactly these. */
  "gates.own": v.strictObject({ gates: v.pipe(v.array(gate), v.maxLength(60)) }),
} as const;

export type WiringRequestName = keyof typeof WIRING_REQUESTS;

/** `request` reverses the edit. */
export interface SetUpEdited {
  readonly undo: { readonly name: "setup.restore"; readonly argument: unknown };
}

/** `request` reverses the edit. */
export interface GatesEdited {
  readonly undo: { readonly name: "gates.own"; readonly argument: unknown };
}

export interface Refused {
  readonly refused: string;
  readonly reversed: boolean;
  /** Whether a person may use the signal in spite of the doubt. */
  readonly mayOverride: boolean;
}

/** "unheard": listening on the port was cancelled, so nothing is written there. */
export type PortTrouble = "silent" | "wrongBaud" | "garbage" | "receiverHere" | "adapterHere" | "unheard" | "trouble";

export interface SourceView {
  /** The port, or for another kind of source its name. */
  readonly port: string;
  /** The source as the set-up has it where it is no serial port; null where it is one. */
  readonly other: OtherSource | null;
  /** Null where it is no serial port. */
  readonly baud: number | null;
  readonly bitrate: number | null;
  /** Serial line or native USB, as the set-up says; null where it does not say. */
  readonly line: "uart" | "usb" | null;
  readonly health: SourceHealth;
  /** A receiver that sends once a second, as it was delivered. */
  readonly onceASecond: boolean;
  /** Its port was opened a moment ago: that nothing came yet says nothing. */
  readonly opening: boolean;
  /** What listening on the port found wrong; null when nothing was found or nobody has listened yet. */
  readonly trouble: PortTrouble | null;
  readonly words: string;
  /** A baud at which the port gave valid data, where the set-up has another. */
  readonly rightBaud: number | null;
}

export interface WiringView {
  readonly file: string | null;
  readonly simulated: boolean;
  /** Null once everything required is there; else what is missing, in the order in which it is asked for. */
  readonly missing: "signal file" | "receiver" | "adapter" | "car" | "signals" | null;
  readonly carMissing: readonly string[];
  readonly signalFiles: readonly { readonly name: string; readonly signals: number }[];
  readonly gnss: SourceView | null;
  readonly can: SourceView | null;
  /** The receiver is on the adapter's port and not on its own. */
  readonly swapped: boolean;
  readonly groundSpeedMps: number | null;
  readonly roles: readonly RoleView[];
}

export interface PortFound {
  readonly path: string;
  readonly description: string;
  readonly talks: string;
  readonly receiverBaud: number | null;
  /** Serial line or native USB, as the system shows; null where it does not. */
  readonly line: "uart" | "usb" | null;
}

export interface CarView {
  readonly draft: DraftSetUp["car"];
  readonly missing: readonly string[];
  readonly simulated: boolean;
  readonly calibration: null | {
    /** Null: not stored yet. */
    readonly id: number | null;
    /** Fitted by the recording that runs now: the one that the list before driving tells. */
    readonly fittedHere: boolean;
    readonly rollingRadiusM: Figure;
    readonly gnssDelayS: Figure;
    readonly slipPerNm: Figure;
    readonly notes: readonly string[];
    readonly recordedAt: string | null;
    /** The tyre notes from when it was accepted. */
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
  "wiring.other": SetUpEdited;
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
