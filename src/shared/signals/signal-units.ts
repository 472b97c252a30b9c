/** Units as signal files write them, with the conversion to a role's SI unit. An unknown unit gives null. */
import { MPS_PER_KMH, MPS_PER_KNOT, MPS_PER_MPH, NM_PER_LBFT, RADPS_PER_RPM, STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";

/** SI value = value x scale + offset, in `unit`. */
export interface UnitConversion {
  readonly unit: string;
  readonly scale: number;
  readonly offset: number;
}

const SPELLINGS: readonly (readonly [unit: string, scale: number, offset: number, spellings: string])[] = [
  ["rad/s", 1, 0, "rad/s rads rad/sec"],
  ["rad/s", RADPS_PER_RPM, 0, "rpm 1/min u/min r/min rev/min min-1 min^-1 rotations/min"],
  ["rad/s", 1000 * RADPS_PER_RPM, 0, "krpm"],
  ["rad/s", 2 * Math.PI, 0, "rps rev/s"],
  ["rad/s", Math.PI / 180, 0, "deg/s degree/s \u00b0/s"],
  ["m/s", 1, 0, "m/s mps m/sec"],
  ["m/s", MPS_PER_KMH, 0, "km/h kmh kph kmph km/hr"],
  ["m/s", MPS_PER_MPH, 0, "mph mi/h mile/h miles/h"],
  ["m/s", MPS_PER_KNOT, 0, "kn kt knot knots"],
  ["m/s", 0.01, 0, "cm/s"],
  ["m/s", 0.001, 0, "mm/s"],
  ["Nm", 1, 0, "nm n*m n.m n-m n\u00b7m newtonmeter newtonmeters newton-meter newton-meters newtonmetre newtonmetres"],
  ["Nm", 1000, 0, "knm kn*m kn.m kn\u00b7m"],
  ["Nm", NM_PER_LBFT, 0, "lbft lb-ft lbf-ft lb.ft lbf.ft lb*ft ftlb ft-lb ft-lbs ft.lb ftlbs lbfft ft*lbf lbf*ft"],
  ["%", 1, 0, "% percent pct prozent"],
  ["%", 0.1, 0, "\u2030 permille"],
  ["degC", 1, 0, "degc \u00b0c c celsius deg_c degreec degreescelsius deg-c \u2103 \u00bac degrees_c"],
  ["degC", 5 / 9, -160 / 9, "degf \u00b0f f fahrenheit deg_f deg-f \u2109 \u00baf"],
  ["degC", 1, -273.15, "k kelvin degk \u00b0k"],
  ["V", 1, 0, "v volt volts vdc"],
  ["V", 0.001, 0, "mv"],
  ["V", 1000, 0, "kv"],
  ["A", 1, 0, "a amp amps ampere amperes adc"],
  ["A", 0.001, 0, "ma"],
  ["A", 1000, 0, "ka"],
  ["m/s2", 1, 0, "m/s2 m/s^2 m/s/s mps2 m/s\u00b2 m/s**2 m/sec2 m/sec^2 m/(s^2)"],
  ["m/s2", STANDARD_GRAVITY_MPS2, 0, "g g0 gn"],
  ["m/s2", STANDARD_GRAVITY_MPS2 / 1000, 0, "mg"],
];

const BY_SPELLING = new Map(
  SPELLINGS.flatMap(([unit, scale, offset, spellings]) =>
    spellings.split(" ").map((spelling) => [spelling, { unit, scale, offset }] as const),
  ),
);

/** Finds a unit whatever its case and blanks; null where it is empty or unknown. */
export function conversionOf(unit: string): UnitConversion | null {
  return BY_SPELLING.get(unit.toLowerCase().replace(/\s+/g, "")) ?? null;
}
