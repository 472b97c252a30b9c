/**
 * What a page on the local network may ask is decided in the contract, by type: the compiler is the outside reference here (`npm run types`
 * compiles this file, and a line marked ts-expect-error that has no error is one).
 */
import { expect, test } from "vitest";
import { REQUESTS } from "../../../src/shared/contract/contract.ts";
import { mayShow, REACH, type Reach } from "../../../src/shared/contract/reach.ts";

test("every request says whether it only shows; one that does not say so does not compile", () => {
  const { "runs.list": _, ...silent } = REACH;
  // @ts-expect-error a request that says nothing
  const lacking: Reach = silent;
  expect(Object.keys(lacking)).toHaveLength(Object.keys(REQUESTS).length - 1);
  expect(Object.keys(REACH).sort()).toEqual(Object.keys(REQUESTS).sort());
});

test("a request that edits, arms, aborts or cancels cannot say that it only shows", () => {
  // @ts-expect-error an edit that can be undone
  const edits: Reach = { ...REACH, "runs.edit": "shows" };
  // @ts-expect-error an edit that can be refused
  const chooses: Reach = { ...REACH, "wiring.choose": "shows" };
  // @ts-expect-error arming, which gives nothing to read
  const arms: Reach = { ...REACH, "drive.arm": "shows" };
  // @ts-expect-error aborting
  const aborts: Reach = { ...REACH, "drive.abort": "shows" };
  expect([edits, chooses, arms, aborts]).toHaveLength(4);
  expect(mayShow("run.show")).toBe(true);
  expect(mayShow("runs.edit")).toBe(false);
});
