/** What the signs of the screens mean: lines, fills, marks and flags, drawn by the painters' own strokes. Stands under F1. */
import { MARK_NAMES, paintGroupMark } from "../../shared/draw/group-mark.ts";
import { paintMomentMark } from "../../shared/draw/moment-mark.ts";
import type { Palette, Surface } from "../../shared/draw/pen.ts";
import { flagWords } from "../../shared/run/flag-words.ts";
import type { FlagName } from "../../shared/run/run.ts";
import { readPalette, surface } from "../draw/palette.ts";
import { el } from "../screen/dom.ts";

type Paint = (drawn: Surface, palette: Palette) => void;

function line(pen: Surface["pen"], width: number, y: number, palette: Palette, hollow: boolean): void {
  pen.fillStyle = palette.ink;
  pen.fillRect(0, y - (hollow ? 4 : 2), width, hollow ? 8 : 4);
  if (!hollow) return;
  pen.fillStyle = palette.sheet;
  pen.fillRect(0, y - 2, width, 4);
}

const flag: Paint = ({ pen, height }, palette) => {
  pen.fillStyle = palette.ink;
  pen.fillRect(14, 4, 3, height - 8);
  pen.beginPath();
  pen.moveTo(17, 4);
  pen.lineTo(32, 9);
  pen.lineTo(17, 14);
  pen.fill();
};

const SIGNS: readonly (readonly [words: string, paint: Paint])[] = [
  [
    "Solid line: measured. Ground speed, delivered torque, or the run laid over another",
    ({ pen, width, height }, palette) => line(pen, width, height / 2, palette, false),
  ],
  [
    "Double line: put in, or compared with. Wheel speed, asked torque, or the run laid under",
    ({ pen, width, height }, palette) => line(pen, width, height / 2, palette, true),
  ],
  [
    "Filled, above the ground line: slip, the wheel ahead of the ground",
    ({ pen, width, height }, palette) => {
      pen.fillStyle = palette.slip;
      pen.fillRect(0, 4, width, height - 8);
    },
  ],
  [
    "Hatched, below it: torque held back, asked less delivered",
    ({ pen, width, height }, palette) => {
      pen.fillStyle = { colour: palette.held, bar: 4 };
      pen.fillRect(0, 4, width, height - 8);
    },
  ],
  [
    "Dashes on the ground line: the car's control intervenes",
    ({ pen, width, height }, palette) => {
      line(pen, width, height / 2, palette, false);
      pen.fillStyle = palette.sheet;
      for (let x = 8; x < width; x += 16) pen.fillRect(x, height / 2 - 3, 8, 6);
    },
  ],
  [
    "Dots: unknown",
    ({ pen, width, height }, palette) => {
      pen.fillStyle = palette.ink;
      for (let x = 0; x < width; x += 9) pen.fillRect(x, height / 2 - 1.5, 3, 3);
    },
  ],
  [
    "Diamond on the time line: marked or noted while driving",
    ({ pen, width, height }, palette) => paintMomentMark(pen, width / 2, height / 2, palette),
  ],
  ["Flag: something speaks against the run; read why, then set it aside or overrule the flag", flag],
  [
    "Struck through: set aside by a person",
    ({ pen, width, height }, palette) => {
      pen.fillStyle = palette.ink;
      pen.fillRect(0, height / 2 - 1, width, 2);
    },
  ],
  ...MARK_NAMES.map((name, mark): readonly [string, Paint] => [
    `${name.charAt(0).toUpperCase()}${name.slice(1)}: ${mark === 0 ? "the group that the book met first" : `group ${mark + 1}`}`,
    ({ pen, width, height }, palette) => paintGroupMark(pen, mark, { x: width / 2, y: height / 2, radius: 8 }, palette),
  ]),
];

/** What each flag says of a run, in its own words. */
const FLAGS: Readonly<Record<FlagName, string>> = {
  wheelspin: "the driven wheels slipped over 10 % for long",
  slope: "the course rises or falls",
  receiver: "the receiver lost its fix or was silent",
  slowReceiver: "the receiver's rate is below 5 Hz",
  frames: "frames of the bus are missing",
  charge: "the battery's charge differs from the other runs",
  temperature: "a temperature differs from the other runs",
  derated: "the inverter or the battery limited the torque",
  unpaired: "no run of its group was driven the other way",
  aborted: "the passenger aborted it",
  interrupted: "the recording ended before the run did",
  pedal: "the pedal was not held down",
  wiring: "a signal, a ratio or a log is wrong; its times are not stored where they rest on it",
  switched: "the control was switched on or off during the run",
};

export interface Signs {
  readonly element: HTMLElement;
  /** Once it is on the page: a canvas without a box has no size. */
  paint(): void;
}

export function createSigns(): Signs {
  const rows = SIGNS.map(([words, paint]) => ({ canvas: el("canvas", { "aria-hidden": "true" }), words, paint }));
  return {
    element: el(
      "div",
      { class: "signs" },
      el("ul", {}, ...rows.map(({ canvas, words }) => el("li", {}, canvas, words))),
      el("h2", { class: "lead" }, "Flags"),
      el(
        "ul",
        {},
        ...Object.entries(FLAGS).map(([name, words]) =>
          el("li", { "data-flag": name }, el("b", {}, flagWords({ flag: name })), ` ${words}`),
        ),
      ),
    ),
    paint() {
      const palette = readPalette();
      for (const { canvas, paint } of rows) {
        const drawn = surface(canvas);
        if (drawn !== null) paint(drawn, palette);
      }
    },
  };
}
