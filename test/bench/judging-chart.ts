/** Draws how often each rule claims a difference that is not there, against the day's drift, as one self-contained SVG. */

export interface JudgingPoint {
  /** From the first run to the last, in scatters of a single run; negative: quicker with time. */
  readonly drift: number;
  readonly suggested: number;
  readonly fourThenFour: number;
  readonly bestOfThree: number;
}

const WIDTH = 960;
const HEIGHT = 540;
const LEFT = 90;
const RIGHT = 240;
const TOP = 96;
const BOTTOM = 70;
const INK = "#121813";
const QUIET = "#3B463D";

const x = (drift: number) => LEFT + ((drift + 2) / 4) * (WIDTH - LEFT - RIGHT);
const y = (share: number) => HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM);

interface Name {
  readonly text: string;
  /** Drift beside which the name stands, and how far above its mark, px. */
  readonly atDrift: number;
  readonly above: number;
}

function series(
  points: readonly JudgingPoint[],
  key: "suggested" | "fourThenFour" | "bestOfThree",
  name: Name,
  dash: string,
  filled: boolean,
): string {
  const line = points.map((point) => `${x(point.drift).toFixed(1)},${y(point[key]).toFixed(1)}`).join(" ");
  const marks = points.map(
    (p) =>
      `<circle cx="${x(p.drift).toFixed(1)}" cy="${y(p[key]).toFixed(1)}" r="5" fill="${filled ? INK : "#EDF1E6"}" stroke="${INK}" stroke-width="2"/>`,
  );
  const beside = points.find((point) => point.drift === name.atDrift) as JudgingPoint;
  const text = `<text x="${x(beside.drift) + 16}" y="${(y(beside[key]) + 6 - name.above).toFixed(1)}" font-size="18">${name.text}</text>`;
  return `<polyline points="${line}" fill="none" stroke="${INK}" stroke-width="3" stroke-dasharray="${dash}"/>${marks.join("")}${text}`;
}

/** The whole SVG document. */
export function judgingChart(points: readonly JudgingPoint[]): string {
  const shares = [0, 0.05, 0.25, 0.5, 0.75, 1];
  const grid = shares.map(
    (share) =>
      `<line x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${y(share)}" y2="${y(share)}" stroke="#667166" stroke-width="${share === 0.05 ? 2 : 1}"/><text x="${LEFT - 10}" y="${y(share) + 6}" font-size="18" text-anchor="end" fill="${QUIET}">${100 * share}</text>`,
  );
  const ticks = [-2, -1, 0, 1, 2].map(
    (drift) =>
      `<text x="${x(drift)}" y="${HEIGHT - BOTTOM + 26}" font-size="18" text-anchor="middle" fill="${QUIET}">${String(drift).replace("-", "−")}</text>`,
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" font-family="IBM Plex Sans, sans-serif" fill="${INK}">
<title>False alarms of three ways to judge, against drift</title>
<rect width="${WIDTH}" height="${HEIGHT}" fill="#EDF1E6"/>
<text x="${LEFT - 60}" y="40" font-size="26" font-weight="700">The setting does nothing. How often is a difference claimed?</text>
<text x="${LEFT - 60}" y="68" font-size="18" fill="${QUIET}">Simulated days in a hundred; 2,000 days a point</text>
${grid.join("\n")}
${ticks.join("\n")}
<text x="${x(0)}" y="${HEIGHT - 16}" font-size="18" text-anchor="middle" fill="${QUIET}">Drift over the test, in scatters of a single run (+ slower, − quicker with time)</text>
${series(points, "bestOfThree", { text: "off x 3, then on x 3: the better best wins", atDrift: -1, above: 8 }, "2 6", false)}
${series(points, "fourThenFour", { text: "off x 4, then on x 4", atDrift: 2, above: 2 }, "10 6", false)}
${series(points, "suggested", { text: "6 and 6, drawn at random", atDrift: 2, above: -2 }, "", true)}
</svg>
`;
}
