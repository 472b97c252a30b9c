/** Days since 1970-01-01 in the Gregorian calendar, the way back, and ISO 8601 text. Uses no clock of the host. */

export const DAY_MS = 86_400_000;

/** Days since 1970-01-01; NaN if there is no such day. */
export function dayNumber(year: number, month: number, day: number): number {
  if (!(month >= 1 && month <= 12 && day >= 1 && day <= daysIn(year, month))) return Number.NaN;
  // Counted from 1 March, so that the leap day is the last of its year (well-known arithmetic, tested against the host's calendar).
  const shifted = month > 2 ? year : year - 1;
  const era = Math.floor(shifted / 400);
  const yearOfEra = shifted - era * 400;
  const dayOfYear = Math.floor((153 * (month > 2 ? month - 3 : month + 9) + 2) / 5) + day - 1;
  return era * 146_097 + yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear - 719_468;
}

/** YYYY-MM-DD of a day number. */
export function isoDate(days: number): string {
  const z = days + 719_468;
  const era = Math.floor(z / 146_097);
  const dayOfEra = z - era * 146_097;
  const yearOfEra = Math.floor(
    (dayOfEra - Math.floor(dayOfEra / 1460) + Math.floor(dayOfEra / 36_524) - Math.floor(dayOfEra / 146_096)) / 365,
  );
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100));
  const shifted = Math.floor((5 * dayOfYear + 2) / 153);
  const month = shifted < 10 ? shifted + 3 : shifted - 9;
  const year = yearOfEra + era * 400 + (month <= 2 ? 1 : 0);
  const day = dayOfYear - Math.floor((153 * shifted + 2) / 5) + 1;
  return `${String(year).padStart(4, "0")}-${twoDigits(month)}-${twoDigits(day)}`;
}

/** HH:MM:SS.sss of milliseconds since midnight; a leap second shows as 23:59:60. */
export function isoTime(timeOfDayMs: number): string {
  const ms = Math.round(timeOfDayMs);
  const seconds = Math.min(Math.floor(ms / 1000), 86_400);
  const leap = seconds === 86_400 ? 1 : 0;
  const minute = Math.floor((seconds - leap) / 60);
  const left = ms - minute * 60_000;
  return `${twoDigits(Math.floor(minute / 60))}:${twoDigits(minute % 60)}:${twoDigits(Math.floor(left / 1000))}.${String(left % 1000).padStart(3, "0")}`;
}

/** YYYY-MM-DDTHH:MM:SS.sssZ of milliseconds since 1970 (ISO 8601). */
export function isoUtc(utcMs: number): string {
  const days = Math.floor(utcMs / DAY_MS);
  return `${isoDate(days)}T${isoTime(utcMs - days * DAY_MS)}Z`;
}

function daysIn(year: number, month: number): number {
  if (month === 2) return year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 29 : 28;
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : 31;
}

function twoDigits(value: number): string {
  return String(value).padStart(2, "0");
}
