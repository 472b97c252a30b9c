/** What each setting is worth stands on paper as it stands on Compare: the same sentences, and the same picture by the same painter. */
import { expect, test } from "vitest";
import { nextExperiment } from "../../../src/shared/judge/next-experiment.ts";
import { responseLines } from "../../../src/shared/judge/response-words.ts";
import { respond } from "../../../src/shared/judge/response.ts";
import { html } from "../../../src/shared/kernel/html.ts";
import { reportHtml } from "../../../src/shared/report/report-html.ts";
import { judgedRun } from "../judge/judged-run.fixture.ts";
import { reportDay } from "./report-day.fixture.ts";

const gate = "0-60 mph";
const runs = Array.from({ length: 12 }, (_, i) =>
  judgedRun(i + 1, "on", 4.5 - (i % 2) * 0.2 + 0.01 * (i % 3), { conditions: { "slip target": i % 2 === 0 ? "8 %" : "12 %" } }),
);

test("the report says what Compare says of the settings, and draws it", () => {
  const { response, why } = respond({ gate, runs });
  const told = { gate, response, why, next: response === null ? null : nextExperiment(response), kept: [] };
  const text = reportHtml({ ...reportDay(), response: told });
  expect(text).toContain("<h2>What each setting is worth</h2>");
  for (const line of responseLines(told)) expect(text).toContain(String(html`${line.trim()}`));
  expect(responseLines(told).join(" ")).toMatch(/slip target from 8 to 12 %: 0\.(19|20)\d? s quicker/);
  expect(text).toMatch(/<svg[^>]*>\s*<title>What each setting is worth<\/title>|<svg[^>]*aria-label="What each setting is worth"/);
});

test("without a setting that differs, and without an expected gain, the paper has no such part", () => {
  expect(reportHtml(reportDay())).not.toContain("What each setting is worth");
});
