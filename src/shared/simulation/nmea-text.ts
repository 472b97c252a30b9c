/** Writes one receiver epoch as NMEA 0183 sentences with checksums and CR LF. An unknown field is empty, never 0. */
import { MPS_PER_KMH, MPS_PER_KNOT } from "../kernel/units.ts";
import { utcParts } from "./utc-text.ts";

/** One solution; with `fix` false everything but the time is empty. `courseDeg` null at rest. */
export interface ReceiverEpoch {
  readonly utcUs: number;
  readonly timeDecimals: 2 | 3;
  readonly fix: boolean;
  readonly latDeg: number;
  readonly lonDeg: number;
  readonly altitudeM: number;
  readonly speedMps: number;
  readonly courseDeg: number | null;
  readonly hdop: number;
  readonly satellites: number;
}

const GEOID_M = 16.4;
const SATELLITE_NUMBERS = ["02", "05", "07", "11", "13", "15", "20", "24", "28", "29", "30", "32"];
const two = (value: number) => String(value).padStart(2, "0");

/** A complete sentence: `$` body `*` XOR of the body's bytes, CR LF. */
export function sentence(body: string): string {
  let sum = 0;
  for (let i = 0; i < body.length; i += 1) sum ^= body.charCodeAt(i);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, "0")}\r\n`;
}

function angle(deg: number, degreeDigits: number, positive: string, negative: string): string {
  // Rounded as a whole, so that 59.9999999 minutes becomes the next degree.
  const units = Math.round(Math.abs(deg) * 60e6);
  const degrees = String(Math.floor(units / 60e6)).padStart(degreeDigits, "0");
  const minutes = ((units % 60e6) / 1e6).toFixed(6).padStart(9, "0");
  return `${degrees}${minutes},${deg < 0 ? negative : positive}`;
}

/** RMC, VTG, GGA, and on request GSA and ZDA, in the order they are sent. */
export function epochSentences(epoch: ReceiverEpoch, { gsa, zda }: { gsa: boolean; zda: boolean }): string[] {
  const p = utcParts(epoch.utcUs);
  const time = `${two(p.hour)}${two(p.minute)}${(p.microsecond / 1e6).toFixed(epoch.timeDecimals).padStart(3 + epoch.timeDecimals, "0")}`;
  const date = `${two(p.day)}${two(p.month)}${two(p.year % 100)}`;
  const place = epoch.fix ? `${angle(epoch.latDeg, 2, "N", "S")},${angle(epoch.lonDeg, 3, "E", "W")}` : ",,,";
  const course = epoch.courseDeg === null ? "" : epoch.courseDeg.toFixed(2);
  const knots = epoch.fix ? (epoch.speedMps / MPS_PER_KNOT).toFixed(3) : "";
  const kmh = epoch.fix ? (epoch.speedMps / MPS_PER_KMH).toFixed(3) : "";
  const mode = epoch.fix ? "A" : "N";
  const out = [
    sentence(`GNRMC,${time},${epoch.fix ? "A" : "V"},${place},${knots},${course},${date},,,${mode}`),
    sentence(`GNVTG,${course},${course === "" ? "" : "T"},,M,${knots},N,${kmh},K,${mode}`),
    epoch.fix
      ? sentence(
          `GNGGA,${time},${place},1,${two(epoch.satellites)},${epoch.hdop.toFixed(2)},${epoch.altitudeM.toFixed(2)},M,${GEOID_M.toFixed(1)},M,,`,
        )
      : sentence(`GNGGA,${time},,,,,0,00,,,M,,M,,`),
  ];
  if (gsa) {
    const used = epoch.fix ? SATELLITE_NUMBERS : SATELLITE_NUMBERS.map(() => "");
    const dops = epoch.fix ? `${(epoch.hdop * 1.6).toFixed(2)},${epoch.hdop.toFixed(2)},${(epoch.hdop * 1.25).toFixed(2)}` : ",,";
    out.push(sentence(`GNGSA,A,${epoch.fix ? 3 : 1},${used.join(",")},${dops}`));
  }
  if (zda) out.push(sentence(`GNZDA,${time},${two(p.day)},${two(p.month)},${p.year},00,00`));
  return out;
}
