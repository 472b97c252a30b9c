/** docs/set-up.md against the check that reads the file: the bit rates in the unit that it takes, every role, and every figure of the car. */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { checkDraft } from "../../../src/shared/setup/check-set-up.ts";
import { BUS_BITRATES } from "../../../src/shared/setup/check-sources.ts";
import { LIST_ROLES, SINGLE_ROLES } from "../../../src/shared/setup/roles.ts";

const docs = readFileSync(new URL("../../../docs/set-up.md", import.meta.url), "utf8");

test("every bit rate that the page names is one that the file takes, and none is missing", () => {
  const [, told = ""] = /`bitrate` \(([^)]*)\)/.exec(docs) ?? [];
  const rates = (told.match(/\d+/g) ?? []).map(Number);
  expect(told).toContain("bit/s");
  expect(rates).toEqual([...BUS_BITRATES]);
  for (const bitrate of rates)
    expect(() =>
      checkDraft({ car: {}, sources: { can: { port: "/dev/a", baud: 115200, bitrate } }, database: [], signals: {} }, "x"),
    ).not.toThrow();
});

test("every role is on the page", () => {
  for (const role of [...LIST_ROLES, ...Object.keys(SINGLE_ROLES)]) expect(docs).toContain(`\`${role}\``);
});
