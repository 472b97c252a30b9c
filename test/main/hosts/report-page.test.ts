/** The report's address carries the comparison on the screen whole: groups, gate, terms and strata (RFC 3986 queries through the browser's own URL class). */
import { expect, test } from "vitest";
import { reportPage } from "../../../src/main/hosts/report-page.ts";
import { termsOf } from "../../../src/shared/judge/run-filter.ts";
import { reportAddress, reportWords } from "../../../src/renderer/pages/report/report-address.ts";
import { useUnits } from "../../../src/renderer/screen/units.ts";

const signal = new AbortController().signal;
const print = () => Promise.reject(new Error("nothing is printed here"));

test.each([
  {},
  { groups: ["off", "on & off"], gate: "0-60 mph", start: "1 ft" as const },
  { where: ["surface=wet", "tyre pressure<=2.1", "label!=a&b"], by: ["day" as const, "surface" as const] },
  { where: ["day>=2031-05-04"], by: [] },
])("%j reaches the core as it was asked", async (asked) => {
  let heard: unknown = null;
  const request = (_: string, argument: unknown) => {
    heard = argument;
    return Promise.resolve({ html: "<p>", name: "day" });
  };
  const page = await reportPage(new URL(reportAddress(asked, "html"), "http://localhost/"), { request } as never, print, signal);
  expect(page?.status).toBe(200);
  expect(heard).toEqual(asked);
});

test("a stratum that is none is refused in one line", async () => {
  const request = () => Promise.resolve({ html: "", name: "" });
  const page = await reportPage(new URL("http://localhost/report?by=moon"), { request } as never, print, signal);
  expect(page?.status).toBe(503);
  expect(String(page?.body).trim().split("\n")).toHaveLength(1);
});

test("what is typed becomes terms, and the report's page says them", () => {
  expect(termsOf(" surface=wet;; day>=2031-05-04 ; ")).toEqual(["surface=wet", "day>=2031-05-04"]);
  expect(termsOf("")).toEqual([]);
  expect(reportWords({ where: ["surface=wet", "label=on"] })).toContain("As on Compare: only runs with surface=wet and label=on.");
});

test("a screen's choice of units reaches the core, and units that are none are refused", async () => {
  let heard: unknown = null;
  const request = (_: string, argument: unknown) => {
    heard = argument;
    return Promise.resolve({ html: "<p>", name: "day" });
  };
  const asked = { groups: ["off", "on"] };
  useUnits("mph");
  const address = reportAddress(asked, "pdf");
  useUnits("km/h");
  await reportPage(new URL(address.replace("report.pdf", "report"), "http://localhost/"), { request } as never, print, signal);
  expect(heard).toEqual({ ...asked, units: "mph" });
  const page = await reportPage(new URL("http://localhost/report?units=knots"), { request } as never, print, signal);
  expect(page?.status).toBe(503);
});
