/**
 * Every package that Gripbook stands on is under a licence that lets anyone use, change and pass it on. Names are SPDX's (spdx.org/licenses); the licence is
 * the one that npm's lock file holds, and the installed package says the same.
 */
import { existsSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { billOfMaterials, licenceOf, lockedPackages } from "../../packaging/locked-packages.ts";

/** OSI approved and without conditions on the whole; OFL-1.1 is a typeface's. */
const SHIPPED = ["MIT", "ISC", "BSD-2-Clause", "BSD-3-Clause", "Apache-2.0", "BlueOak-1.0.0", "0BSD", "OFL-1.1"];
/** Tools besides: a condition on changed files of the tool's own touches nothing that is passed on. */
const TOOLS = [...SHIPPED, "MPL-2.0"];

/** "A OR B" needs one of them, "A AND B" all (SPDX specification, annex D); brackets do not occur. */
const allowed = (licence: string, list: readonly string[]) =>
  licence.split(" OR ").some((choice) => choice.split(" AND ").every((one) => list.includes(one.replace(/[()]/g, ""))));

test("every locked package is under a licence of the list", () => {
  const packages = lockedPackages();
  expect(packages.length).toBeGreaterThan(150);
  const odd = packages.filter(({ licence, dev }) => !allowed(licence, dev ? TOOLS : SHIPPED));
  expect(odd.map(({ path, licence }) => `${path}: ${licence || "no licence"}`)).toEqual([]);
});

test("every installed package says of itself what the lock file says", () => {
  const installed = lockedPackages().filter(({ path }) => existsSync(`${path}/package.json`));
  expect(installed.length).toBeGreaterThan(100);
  const other = installed.filter(({ path, version, licence }) => {
    const own = JSON.parse(readFileSync(`${path}/package.json`, "utf8"));
    const said = typeof own.license === "string" ? own.license : (own.license?.type ?? own.licenses?.[0]?.type ?? licence);
    return own.version !== version || said !== licence;
  });
  expect(other.map(({ path }) => path)).toEqual([]);
});

test("the bill of materials names what people get, and no licence beside the list", () => {
  const bill = billOfMaterials();
  if (bill === null) return console.log("skipped: the bill of materials, because this npm has no `npm sbom`");
  const shipped = lockedPackages().filter(({ dev }) => !dev);
  expect(bill.components.length).toBeGreaterThan(10);
  expect(bill.components.length).toBeLessThanOrEqual(shipped.length);
  expect(bill.components.filter((one) => !allowed(licenceOf(one), SHIPPED)).map(({ name }) => name)).toEqual([]);
});

test("the check bites: a licence that binds the whole is refused, and so is none", () => {
  for (const licence of ["GPL-3.0-only", "AGPL-3.0-or-later", "UNLICENSED", "", "MIT AND GPL-3.0-only", "MPL-2.0"])
    expect(allowed(licence, SHIPPED), licence).toBe(false);
  expect(allowed("GPL-3.0-only OR MIT", SHIPPED)).toBe(true);
});
