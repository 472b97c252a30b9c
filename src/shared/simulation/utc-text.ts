/** Dates as text from a count of seconds, Gregorian, without the host's clock. Never fails for the years 1970 to 9999. */

export interface UtcParts {
  readonly year: number;
  readonly month: number;
  readonly day: number;
  readonly hour: number;
  readonly minute: number;
  /** Microseconds of the minute. */
  readonly microsecond: number;
}

const two = (value: number) => String(value).padStart(2, "0");

/** Parts of a time given in whole microseconds since 1970 (exact to 2^53). Days to date: the era method for the proleptic Gregorian calendar. */
export function utcParts(unixUs: number): UtcParts {
  const days = Math.floor(unixUs / 86400e6);
  const inDayUs = unixUs - days * 86400e6;
  const z = days + 719468;
  const era = Math.floor(z / 146097);
  const dayOfEra = z - era * 146097;
  const yearOfEra = Math.floor(
    (dayOfEra - Math.floor(dayOfEra / 1460) + Math.floor(dayOfEra / 36524) - Math.floor(dayOfEra / 146096)) / 365,
  );
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100));
  const m = Math.floor((5 * dayOfYear + 2) / 153);
  const month = m < 10 ? m + 3 : m - 9;
  return {
    year: yearOfEra + era * 400 + (month <= 2 ? 1 : 0),
    month,
    day: dayOfYear - Math.floor((153 * m + 2) / 5) + 1,
    hour: Math.floor(inDayUs / 3600e6),
    minute: Math.floor((inDayUs % 3600e6) / 60e6),
    microsecond: inDayUs % 60e6,
  };
}

/** "2031-05-04T10:02:11.482000Z". */
export function isoText(unixUs: number): string {
  const p = utcParts(unixUs);
  const seconds = Math.floor(p.microsecond / 1e6);
  const micros = String(p.microsecond % 1e6).padStart(6, "0");
  return `${p.year}-${two(p.month)}-${two(p.day)}T${two(p.hour)}:${two(p.minute)}:${two(seconds)}.${micros}Z`;
}
