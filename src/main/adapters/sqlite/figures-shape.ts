/**
 * Whether what stands in a run's row has the form of figures: a book from elsewhere may hold other JSON under a right checksum. Only what the
 * program reads without asking is looked at. Never fails.
 */
type Fields = Readonly<Record<string, unknown>>;

const isRecord = (value: unknown): value is Fields => typeof value === "object" && value !== null && !Array.isArray(value);
const isNumber = (value: unknown) => typeof value === "number";
const isText = (value: unknown) => typeof value === "string";
/** What may be unknown, or absent in a book of an earlier Gripbook. */
const mayLack = (is: (value: unknown) => boolean) => (value: unknown) => value === null || value === undefined || is(value);
const listOf = (is: (value: unknown) => boolean) => (value: unknown) => Array.isArray(value) && value.every(is);
const valuesOf = (is: (value: unknown) => boolean) => (value: unknown) => isRecord(value) && Object.values(value).every(is);
const having = (fields: Readonly<Record<string, (value: unknown) => boolean>>) => (value: unknown) =>
  isRecord(value) && Object.entries(fields).every(([name, is]) => is(value[name]));

const maybeNumber = mayLack(isNumber);

const isGateResult = having({
  gate: isText,
  start: isText,
  seconds: maybeNumber,
  plusMinus95: maybeNumber,
  atS: maybeNumber,
  exitSpeedKmh: maybeNumber,
  distanceM: maybeNumber,
  why: mayLack(isText),
  wheelSeconds: maybeNumber,
});

export const isFigures = having({
  uid: isText,
  movementS: isNumber,
  movementPlusMinus95: maybeNumber,
  startedAtUtcMs: maybeNumber,
  windowFromS: isNumber,
  windowToS: isNumber,
  courseDeg: maybeNumber,
  altitudeChangeM: maybeNumber,
  slopeSigns: mayLack(isRecord),
  gates: listOf(isGateResult),
  slip: having({ peakSlipSpeedKmh: maybeNumber, peakSlipRatio: maybeNumber, secondsAbove10Percent: maybeNumber }),
  flags: listOf(having({ flag: isText, why: isText })),
  measured: valuesOf(maybeNumber),
});

export const isUnits = valuesOf(isText);

export const isPrint = having({
  slipKmh: listOf(maybeNumber),
  heldNm: listOf(maybeNumber),
  intervening: mayLack(listOf((value) => typeof value === "boolean")),
});
