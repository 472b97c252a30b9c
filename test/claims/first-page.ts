/**
 * The first page of docs/accuracy.md, for a person who is no statistician. Its figures are read out of the tables that follow it, so that neither can be
 * newer than the other. A table that is missing throws.
 */

interface Row {
  readonly className: string;
  readonly what: string;
  /** As printed, with its unit. */
  readonly rms: string;
  readonly inside: number;
  readonly width: string;
}

/** Rows of all tables with an RMS error, by the class above them. */
function rowsIn(markdown: string): readonly Row[] {
  let className = "";
  return markdown.split("\n").flatMap((line) => {
    className = /^### (.*)$/.exec(line)?.[1] ?? className;
    const [, what, , rms = "", , inside = "", width = ""] = line.split("|").map((cell) => cell.trim());
    const share = /^([\d.]+) %/.exec(inside)?.[1];
    return what === undefined || share === undefined || !/^[\d.]+ (?:ms|%)$/.test(rms)
      ? []
      : [{ className, what, rms, inside: Number(share), width }];
  });
}

/** What is plugged in, and the classes driven with it. */
const SOURCES = [
  ["receiver, motor speed, torque and undriven wheels", /: (?:all sources|5 Hz|20 Hz|noise|bus without)/],
  ["the same without undriven wheels", /: (?:stated family, )?no undriven wheels/],
  ["receiver and torque", /: (?:stated family, )?receiver and torque/],
  ["receiver and undriven wheels", /: (?:stated family, )?receiver and undriven wheels/],
  ["receiver alone", /: (?:stated family, )?receiver alone/],
] as const;

const figures = (rows: readonly Row[], pick: (row: Row) => string) => rows.map((row) => Number.parseFloat(pick(row)));

/** "1.6 to 3.5", or one figure where all are alike. */
function range(values: readonly number[], digits: number): string {
  const [least, most] = [Math.min(...values).toFixed(digits), Math.max(...values).toFixed(digits)];
  return least === most ? least : `${least} to ${most}`;
}

export function firstPage(tables: string): string {
  const rows = rowsIn(tables);
  const of = (what: string, classes: RegExp) => {
    const found = rows.filter((row) => row.what === what && classes.test(row.className));
    if (found.length === 0) throw new Error(`docs/accuracy.md: no table says ${what} of ${classes}; run npm run claims`);
    return found;
  };
  const lines = SOURCES.map(([words, classes]) => {
    const sixty = of("0-60 mph from movement", classes);
    const seconds = (pick: (row: Row) => string) =>
      range(
        figures(sixty, pick).map((ms) => ms / 1000),
        3,
      );
    return `| ${words} | ${seconds(({ rms }) => rms)} s | ± ${seconds(({ width }) => width)} s | ${range(
      sixty.map(({ inside }) => inside),
      0,
    )} of 100 |`;
  });
  const radius = of("rolling radius", /./);
  const slip = of("slip error / (1 + slip)", /./);
  const best = of("best slip (slip itself)", /./);
  const percent = (found: readonly Row[], pick: (row: Row) => string, digits: number) => `${range(figures(found, pick), digits)} %`;
  return `## One page for everybody

Every figure of Gripbook that has a ± says: the truth lies between these two ends in 95 of 100 cases. Is that so? To find out, thousands of drives were made by two computer models of a car, whose true times, slips and radii are known exactly. Gripbook got only what a real car would send: bytes of a receiver and of a bus, with noise, delays and gaps. Then its figures were compared with the truth.

| what you have plugged in | a 0-60 mph time is off by, typically | the ± it prints, on average | the ± holds the truth in |
| --- | --- | --- | --- |
${lines.join("\n")}

"Typically" is the root mean square error: about two of three times are off by less. From-to: the best and the worst kind of drive (dry, wet, noisy, slow receiver ...).

**What you can trust**

- A time with its ±. The end of the interval that suits you least is the one to decide by.
- Rolling radius after two minutes of gentle driving: off by ${percent(radius, ({ rms }) => rms, 3)}.
- Slip above 10 km/h: off by ${percent(slip, ({ rms }) => rms, 3)} of wheel speed.
- Best slip, where the page gives one: off by ${percent(best, ({ rms }) => rms, 2)} slip. Where the runs never passed the peak it is not given, and that was right on every day that was counted.

**How far**

- The measurement is finer than your driving. Single runs scatter by some hundredths of a second; so one run against one run says nothing, however small the ±. That is what [a comparison](judging.md) is for.
- Every further source makes times finer, as the table shows. The receiver alone is good to a few hundredths of a second.
- Where time was lost is known to some hundredths of a second. A simulated gain is a guess with a wide interval.

**When not**

- Below 5 Hz, or while a fix is lost: shown, flagged, not to be compared.
- A receiver whose errors last for seconds ("correlated"), and nothing else plugged in: a rolling gate's ± then holds the truth in only ${range(
    of("30-60 mph from entry", /receiver alone, correlated/).map(({ inside }) => inside),
    0,
  )} of 100 cases.
- Slip from an adapter that does not stamp its frames: the ± is a little too narrow (${range(
    of("slip error / (1 + slip)", /bus without stamps/).map(({ inside }) => inside),
    0,
  )} of 100).
- Wrong mass, height or weight share: peak friction is wrong by as much. Best slip hardly changes.
- On a control that hunts in the wet, axle inertia is known worse than its ± says.
- **Both cars of these tests are computer models.** Only one minute of a real car stands beside them ([check-values.md](check-values.md), comma2k19). Nobody has yet measured Gripbook on a real launch against a better instrument. If you can, do.
- None of this says anything about safety, or about corners.
`;
}

const HEAD = "# How exact the figures are\n\n";
const BEHIND = "\n## How it was measured\n\n";

/** The whole page: the first one, and what it is read from. */
export const accuracyPage = (measured: string): string => `${HEAD}${firstPage(measured)}${BEHIND}${measured}`;

/** What follows the first page, of a whole page. */
export function behindFirstPage(page: string): string {
  const at = page.indexOf(BEHIND);
  if (!page.startsWith(HEAD) || at === -1)
    throw new Error(`docs/accuracy.md: expected ${JSON.stringify(BEHIND.trim())}; run npm run claims`);
  return page.slice(at + BEHIND.length);
}
