/** Slip controller of the simulated car: reduces the torque command while the driven axle turns faster than the road. Never fails. */

/** What a person can set on it. */
export interface ControlSetting {
  /** Slip ratio that it aims for. */
  readonly slip: number;
  /** Time between its looks at the wheels, s; a whole number of milliseconds. */
  readonly everyS: number;
  /** From a look to the command that results, s; whole milliseconds. */
  readonly lateS: number;
  /** How hard it cuts and how fast it gives torque back: a factor on both gains, 1 as tuned. */
  readonly strength: number;
}

export const DEFAULT_CONTROL: ControlSetting = { slip: 0.085, everyS: 0.001, lateS: 0, strength: 1 };

export interface TractionControl {
  /** Command in Nm for a requested torque; one call a millisecond. */
  step(requestNm: number, slipSpeedMps: number, groundSpeedMps: number, enabled: boolean): number;
  /** True while the command is held below the request. */
  active(): boolean;
}

// Tuned by hand on this model: settles in about 0.2 s without oscillation.
const KP_NM_PER_MPS = 85;
const KI_NM_PER_M = 900;
/** Near standstill a slip ratio has no meaning: there this slip speed is allowed. */
const LEAST_AIM_MPS = 0.32;
const SENSOR_LAG_MS = 6;
const OPEN = Number.POSITIVE_INFINITY;

/** PI on slip speed with the integrator kept between zero and the request. */
export function createTractionControl({ slip, everyS, lateS, strength }: ControlSetting = DEFAULT_CONTROL): TractionControl {
  const everyMs = Math.round(everyS * 1e3);
  const lateMs = Math.round(lateS * 1e3);
  // Limits that were decided but do not act yet, oldest first.
  const coming: number[] = Array<number>(lateMs).fill(OPEN);
  let sinceLookMs = everyMs;
  let limitNm = 0;
  let decidedNm = OPEN;
  let slipMps = 0;
  let cutting = false;

  /** The most torque that it allows. */
  function look(requestNm: number, groundSpeedMps: number): number {
    const excessMps = slipMps - Math.max(LEAST_AIM_MPS, slip * groundSpeedMps);
    if (!cutting && excessMps < 0) {
      limitNm = requestNm;
      return OPEN;
    }
    cutting = true;
    limitNm = Math.min(requestNm, Math.max(0, limitNm - strength * KI_NM_PER_M * excessMps * everyMs * 1e-3));
    const nm = Math.max(0, limitNm - strength * KP_NM_PER_MPS * excessMps);
    if (limitNm >= requestNm && excessMps < 0) cutting = false;
    return nm;
  }

  return {
    step(requestNm, slipSpeedMps, groundSpeedMps, enabled) {
      slipMps += (slipSpeedMps - slipMps) / SENSOR_LAG_MS;
      if (!enabled || requestNm <= 0) {
        cutting = false;
        limitNm = Math.max(requestNm, 0);
        decidedNm = OPEN;
        coming.fill(OPEN);
        return requestNm;
      }
      sinceLookMs += 1;
      if (sinceLookMs >= everyMs) {
        sinceLookMs = 0;
        decidedNm = look(requestNm, groundSpeedMps);
      }
      coming.push(decidedNm);
      return Math.min(requestNm, coming.shift() as number);
    },
    active: () => cutting,
  };
}
