/**
 * Every speed and length that a person sees goes through kernel/shown-units.ts: no other file has their units in its texts, but those named
 * here with the reason. The rule is the project's own; no published source.
 */
import { readdirSync, readFileSync } from "node:fs";
import { parseSync } from "@swc/core";
import { expect, test } from "vitest";

/** Files that may say km/h or m. */
const MAY: Readonly<Record<string, string>> = {
  "src/shared/kernel/shown-units.ts": "the one place",
  "src/shared/launch/gate.ts": "names of gates stay as they are",
  "src/main/core/judging/read-gate.ts": "units that a gate may be typed in",
  "src/renderer/pages/plan/own-gates.ts": "units that a gate may be typed in",
  "src/renderer/pages/plan/gate-asked.ts": "units that a gate may be typed in",
  "src/main/command-line/gates-command.ts": "units that a gate may be typed in",
  "src/main/command-line/gripbook.ts": "the choice itself",
  "src/shared/run/flags.ts": "stored as plain text, marked when it is read",
  "src/shared/run/stop-gates.ts": "stored as plain text, marked when it is read",
  "src/shared/launch/gate-times.ts": "stored as plain text, marked when it is read",
  "src/shared/align/calibrate.ts": "stored as plain text, marked when it is read; and a radius",
  "src/shared/run/flag-words.ts": "finds the figure of a stored sentence",
  "src/main/core/library/run-columns.ts": "columns as the core has them; shownColumn() for people",
  "src/shared/report/runs-table.ts": "the archive's columns",
  "src/shared/signals/signal-units.ts": "units of signal files",
  "src/shared/simulation/car-signals.ts": "units of signal files",
  "src/shared/simulation/launch-truth.ts": "names of gates stay as they are",
  "src/shared/simulation/read-plan.ts": "a key of a file",
  "src/renderer/screen/key-map.ts": "the key M",
  "src/renderer/pages/runs/cursor-reading.ts": "digits of each unit",
  "src/shared/pipeline/wiring-faults.ts": "stored as plain text, marked when it is read; and a radius",
  "src/renderer/pages/plan/plan-refusal.ts": "a key of the plan file is in metres",
  // The car's own measures, in the units of its set-up.
  "src/shared/pipeline/before-driving.ts": "radius",
  "src/shared/report/report-tables.ts": "radius",
  "src/main/core/deriving/rederive.ts": "radius",
  "src/shared/setup/check-set-up.ts": "keys of the set-up",
  "src/main/command-line/runs-command.ts": "radius",
  "src/renderer/pages/car/car-words.ts": "radius, wheelbase, height of the centre of gravity",
  "src/renderer/pages/car/interval-chart.ts": "radius",
  "src/renderer/pages/car/guided-panel.ts": "radius",
  "src/renderer/pages/runs/run-notes.ts": "radius",
  "src/shared/judge/check-plan-request.ts": "a key of the plan file is in metres",
  "src/shared/judge/usable-length.ts": "a key of the plan file is in metres",
};

const SPEED = /km\/h|\bkilomet(?:re|er)s?\b/i;
const LENGTH = /(?:^|[\d…\u00a0 ,])m$|(?:[\d…] ?|\u00a0)m[ ,.;)]|\bmet(?:re|er)s\b/;

function textsOf(node: unknown): string[] {
  if (typeof node !== "object" || node === null) return [];
  if (Array.isArray(node)) return node.flatMap(textsOf);
  const { type, value, quasis } = node as { type?: string; value?: unknown; quasis?: { cooked?: string; raw: string }[] };
  if (type === "ImportDeclaration" || type === "TsLiteralType") return [];
  const own =
    type === "StringLiteral" && typeof value === "string"
      ? [value]
      : type === "TemplateLiteral" && quasis !== undefined
        ? [quasis.map((quasi) => quasi.cooked ?? quasi.raw).join("…")]
        : [];
  return [...own, ...Object.values(node).flatMap(textsOf)];
}

const SOURCES = readdirSync("src", { recursive: true, encoding: "utf8" })
  .filter((name) => name.endsWith(".ts"))
  .map((name) => `src/${name}`);
const told = (file: string) =>
  textsOf(parseSync(readFileSync(file, "utf8"), { syntax: "typescript" })).filter((text) => SPEED.test(text) || LENGTH.test(text));

test("no text has a speed's or a length's unit of its own", () => {
  const found = SOURCES.flatMap((file) => (file in MAY ? [] : told(file).map((text) => `${file}: "${text.slice(0, 100)}"`)));
  expect(found).toEqual([]);
});

test("every file that may is still one that does", () => {
  expect(Object.keys(MAY).filter((file) => told(file).length === 0)).toEqual([]);
});

test("text reaches a page in one way, which puts it into the units: dom.ts", () => {
  const direct = SOURCES.filter((file) => file.startsWith("src/renderer/") && !file.endsWith("screen/dom.ts")).filter((file) =>
    /\.(?:textContent|innerText|innerHTML) = |createTextNode\(/.test(readFileSync(file, "utf8").replace(/\/\/.*/g, "")),
  );
  // Names of keys, which are no sentences of the core.
  expect(direct).toEqual(["src/renderer/screen/key-hints.ts"]);
});
