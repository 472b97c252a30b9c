/**
 * Where the gates of the next launch are expected: where the last run with its label passed them. A late answer for another label is
 * dropped.
 */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { type Expectation, expectationOf, lastOf, POSTS } from "../../figures/drive-expectation.ts";
import type { Frame } from "../../screen/page.ts";
import type { DrivePost } from "./drive-painter.ts";

export interface ExpectedGates {
  /** Looks up the last run of a label, if that is another run than before. */
  lookUp(label: string): Promise<void>;
  expectation(): Expectation | null;
  /** Passed gates, then expected ones; `passed`: null where no launch is shown. */
  posts(passed: LiveEvent["gates"] | null): DrivePost[];
}

export function createExpectedGates(frame: Frame): ExpectedGates {
  let expectation: Expectation | null = null;
  let asked = "";
  return {
    async lookUp(label) {
      const run = lastOf(frame.runs(), label);
      const key = `${label}/${run?.id}`;
      if (key === asked) return;
      asked = key;
      expectation = null;
      if (run === undefined) return;
      const view = await frame.bridge.request("run.show", { run: run.id });
      if (key === asked) expectation = expectationOf(view);
    },
    expectation: () => expectation,
    posts(gates) {
      const passed = (gates ?? [])
        .filter((gate) => POSTS.includes(gate.gate))
        .map((gate) => ({ gate: gate.gate, atS: gate.seconds, passed: true }));
      const names = passed.map((post) => post.gate);
      const coming = (expectation?.gates ?? [])
        .filter((gate) => !names.includes(gate.gate))
        .map((gate) => ({ gate: gate.gate, atS: gate.seconds, passed: false }));
      return [...passed, ...coming].sort((a, b) => a.atS - b.atS);
    },
  };
}
