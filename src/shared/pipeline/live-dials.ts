/**
 * The newest value of everything that a screen shows, and its age. A value older than three of its periods (at least 0.3 s) is null. Ground
 * speed comes only from receiver and undriven wheels.
 */
import { fixWords } from "../receiver/fix-words.ts";
import type { Calibration } from "../align/calibration.ts";
import { createGroundSpeedFilter, type GroundSpeed, type GroundSpeedFilter } from "../align/ground-speed.ts";
import { slipAt } from "../align/slip.ts";
import type { FrameBatch } from "../frames/frame-batch.ts";
import { NS_PER_S } from "../kernel/units.ts";
import type { LiveSample } from "../launch/launch-states.ts";
import { createRestWatch } from "../launch/rest-watch.ts";
import { createStillWatch } from "../launch/still-watch.ts";
import type { SingleRole } from "../setup/roles.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { Epoch } from "../receiver/epoch-draft.ts";
import type { LatestValues, TapPeaks } from "../signals/role-tap.ts";
import { createLiveClock } from "./live-clock.ts";
import { createLiveHealth } from "./live-health.ts";
import type { LiveEvent } from "./live-view.ts";
import type { Packet } from "./packet.ts";

const STALE_S = 0.3;
/** Temperatures come once a second or less often, and change even more slowly. */
const SLOW_STALE_S = 5;
const TEMPERATURES = ["batteryTemperature", "motorTemperature", "inverterTemperature"] as const;
type DialValues = Pick<
  LiveEvent,
  | "groundSpeedMps"
  | "wheelSpeedMps"
  | "slipSpeedMps"
  | "slipRatio"
  | "greatestSlipSpeedMps"
  | "greatestHeldNm"
  | "torqueRequestNm"
  | "torqueDeliveredNm"
  | "pedalPercent"
  | "stateOfCharge"
  | "temperatures"
  | "tractionControlEnabled"
  | "intervening"
  | "gnss"
  | "can"
>;

export interface LiveDials {
  bytes(packet: Packet): void;
  /** Takes an epoch: as soon as its speed is known, and again when it is complete. Its speed counts once. */
  epoch(epoch: Epoch): void;
  frames(batch: FrameBatch): void;
  values(latest: LatestValues): void;
  sample(nowNs: number): LiveSample;
  view(nowNs: number, peaks: TapPeaks): DialValues;
  /** A group name proposed from a switch on the bus; empty where there is no such signal. */
  proposedLabel(): string;
}

function freshOf(latest: LatestValues, role: SingleRole, nowNs: number, staleS = STALE_S): number | null {
  const value = latest[role];
  return value !== undefined && nowNs - value.arrivalNs <= staleS * NS_PER_S ? value.value : null;
}

/** What the undriven wheels reported since `sinceNs`; null where one was silent. */
function undrivenSince(latest: LatestValues, sinceNs: number): { readonly heardNs: number; readonly readings: (number | null)[] } {
  let heardNs = sinceNs;
  const readings = (latest.undrivenWheelSpeeds ?? []).map((wheel) => {
    if (wheel === null || wheel.arrivalNs <= sinceNs) return null;
    heardNs = Math.max(heardNs, wheel.arrivalNs);
    return wheel.value;
  });
  return { heardNs, readings };
}

/** Every wheel sensor as a road speed; null where it is silent. */
function wheelSpeeds(latest: LatestValues, { drivenScales, undrivenScales }: Calibration, nowNs: number): (number | null)[] {
  return [
    { values: latest.undrivenWheelSpeeds ?? [], scales: undrivenScales },
    { values: latest.drivenWheelSpeeds ?? [], scales: drivenScales },
  ].flatMap(({ values, scales }) =>
    values.map((one, j) => {
      const scale = scales[j];
      const heard = one !== null && scale !== undefined && nowNs - one.arrivalNs <= STALE_S * NS_PER_S;
      return heard ? one.value * scale.value : null;
    }),
  );
}

function slipNow({ speedMps, sigmaMps, accelerationMps2 }: GroundSpeed, spinRadps: number, calibration: Calibration) {
  return slipAt({ spinRadps, groundSpeedMps: speedMps, groundSigmaMps: sigmaMps, accelerationMps2 }, calibration);
}

/** The values that come from the bus alone. */
function busDials(latest: LatestValues, nowNs: number, peaks: TapPeaks) {
  const fresh = (role: SingleRole) => freshOf(latest, role, nowNs);
  const [asked, delivered] = [fresh("torqueRequest"), fresh("torqueDelivered")];
  const held = asked === null || delivered === null ? null : asked <= 0 ? 0 : Math.max(0, asked - delivered);
  const enabled = fresh("tractionControlEnabled");
  const active = fresh("tractionControlActive");
  return {
    greatestHeldNm: held === null ? null : Math.max(held, peaks.heldNm ?? 0),
    torqueRequestNm: asked,
    torqueDeliveredNm: delivered,
    pedalPercent: fresh("pedal"),
    stateOfCharge: latest.stateOfCharge?.value ?? null,
    temperatures: Object.fromEntries(TEMPERATURES.map((role) => [role, freshOf(latest, role, nowNs, SLOW_STALE_S)])),
    tractionControlEnabled: enabled === null ? null : enabled > 0,
    intervening: active === null ? null : active > 0,
  };
}

/** What the newest epoch says about satellites and fix, and what is wrong with it. */
function skyWords(newest: Epoch | null): [words: string, worry: string | null] {
  const fix = newest?.fix ?? null;
  const worry = newest !== null && (fix === "none" || fix === "estimated") ? "no satellite fix: needs open sky" : null;
  const satellites = newest !== null && !Number.isNaN(newest.satellites) ? `${newest.satellites} satellites` : "";
  return [[fix === null ? "" : fixWords(fix), satellites].filter((part) => part !== "").join(", "), worry];
}

function labelOf({ tractionControlEnabled: enabled }: LatestValues): string {
  if (enabled === undefined) return "";
  return enabled.value > 0 ? "traction control on" : "traction control off";
}

export function createLiveDials({ setUp, calibration }: { readonly setUp: SetUp; readonly calibration: () => Calibration }): LiveDials {
  const clock = createLiveClock();
  const rest = createRestWatch(() => calibration().receiverNoise);
  const watch = createStillWatch();
  let filterOf: { readonly calibration: Calibration; readonly filter: GroundSpeedFilter } | null = null;
  const gnss = createLiveHealth({ present: true, unit: "Hz", remedy: "wrong baud, or not NMEA 0183" });
  const can = createLiveHealth({ present: true, unit: "frames/s", remedy: "wrong baud, or not SLCAN" });
  let latest: LatestValues = {};
  let newestEpoch: Epoch | null = null;
  let validHeardNs = Number.NEGATIVE_INFINITY;
  let speedHeardNs = Number.NEGATIVE_INFINITY;
  let wheelsHeardNs = Number.NEGATIVE_INFINITY;

  const fresh = (role: SingleRole, nowNs: number) => freshOf(latest, role, nowNs);

  /** A filter belongs to one calibration; a new one starts at the next epoch. */
  function ground(): GroundSpeedFilter {
    const current = calibration();
    if (filterOf?.calibration !== current) filterOf = { calibration: current, filter: createGroundSpeedFilter(current) };
    return filterOf.filter;
  }

  const spin = (nowNs: number) => {
    const motor = fresh("motorSpeed", nowNs);
    return motor === null ? null : motor / setUp.car.gearRatio;
  };
  const wheelSpeed = (nowNs: number) => {
    const spinRadps = spin(nowNs);
    return spinRadps === null ? null : spinRadps * calibration().rollingRadiusM.value;
  };

  function isStill(nowNs: number, receiverKnown: boolean): boolean {
    const mps = wheelSpeed(nowNs);
    watch.push({
      tS: nowNs / NS_PER_S,
      motor: mps === null ? null : { mps, heardS: (latest.motorSpeed?.arrivalNs ?? Number.NaN) / NS_PER_S },
      wheelsMps: wheelSpeeds(latest, calibration(), nowNs),
      receiverMoves: !receiverKnown || rest.rolls() || !rest.atRest(),
    });
    return watch.still();
  }

  return {
    bytes({ stream, bytes, arrivalNs }) {
      (stream === "gnss" ? gnss : can).bytes(bytes.length, arrivalNs);
    },
    epoch(epoch) {
      newestEpoch = epoch;
      if (epoch.arrivalNs > validHeardNs) gnss.valid(1, epoch.arrivalNs);
      validHeardNs = Math.max(validHeardNs, epoch.arrivalNs);
      if (Number.isNaN(epoch.speedMps) || epoch.arrivalNs <= speedHeardNs) return;
      speedHeardNs = epoch.arrivalNs;
      const heardS = clock.map(Number.isNaN(epoch.utcMs) ? Number.NaN : epoch.utcMs / 1000, epoch.arrivalNs / NS_PER_S);
      ground().pushEpoch(heardS, epoch.speedMps);
      rest.push(heardS - calibration().gnssDelayS.value, epoch.speedMps);
    },
    frames(batch) {
      can.valid(batch.length, batch.arrivalNs[batch.length - 1]);
    },
    values(values) {
      latest = values;
      const { heardNs, readings } = undrivenSince(latest, wheelsHeardNs);
      if (heardNs === wheelsHeardNs) return;
      wheelsHeardNs = heardNs;
      ground().pushWheels(heardNs / NS_PER_S, readings);
    },
    sample(nowNs) {
      const speed = ground().at(nowNs / NS_PER_S);
      return {
        tS: nowNs / NS_PER_S,
        groundSpeedMps: speed?.speedMps ?? null,
        wheelSpeedMps: wheelSpeed(nowNs),
        pedalPercent: fresh("pedal", nowNs),
        accelerationMps2: speed?.accelerationMps2 ?? null,
        atRest: speed !== null && rest.atRest(),
        still: isStill(nowNs, speed !== null),
        moves: rest.moves(),
        hard: speed !== null && rest.hard(),
        restLevelMps: rest.restLevelMps(),
      };
    },
    view(nowNs, peaks) {
      const speed = ground().at(nowNs / NS_PER_S);
      const spinRadps = spin(nowNs);
      const slipOf = (spinning: number | null) => (speed === null || spinning === null ? null : slipNow(speed, spinning, calibration()));
      const slip = slipOf(spinRadps);
      const peakSpin =
        spinRadps === null || peaks.motorSpeed === null ? spinRadps : Math.max(spinRadps, peaks.motorSpeed / setUp.car.gearRatio);
      return {
        groundSpeedMps: speed?.speedMps ?? null,
        wheelSpeedMps: wheelSpeed(nowNs),
        slipSpeedMps: slip?.speedMps ?? null,
        slipRatio: slip?.ratio ?? null,
        greatestSlipSpeedMps: slipOf(peakSpin)?.speedMps ?? null,
        ...busDials(latest, nowNs, peaks),
        gnss: gnss.at(nowNs, ...skyWords(newestEpoch)),
        can: can.at(nowNs, "", null),
      };
    },
    proposedLabel: () => labelOf(latest),
  };
}
