/** The live event as screens get it: what the recording shows, what the devices report and what the plan says. Never fails. */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import type { Stream } from "../../ports/book.ts";
import type { SourceReport } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import type { PlanGuide } from "../judging/plan-guide.ts";
import { FIRST_BYTE, NOTHING_LIVE } from "./nothing-live.ts";

export interface LiveTeller {
  report(stream: Stream, report: SourceReport): void;
  /** So many more runs are stored. */
  add(runs: number): void;
  tell(live: LiveEvent): LiveEvent;
  /** The event told last. */
  last(): LiveEvent;
  /** The present values that are compared with the plan's limits. */
  measured(): Readonly<Record<string, number | null>>;
  /** The plan's line for the passenger, by the present values. */
  plan(): LiveEvent["plan"];
}

export function createLiveTeller({
  streams,
  guide,
  clock,
}: {
  readonly streams: readonly Stream[];
  readonly guide: PlanGuide;
  readonly clock: Pick<Clock, "utcUs">;
}): LiveTeller {
  const reports = new Map<Stream, SourceReport>();
  const first = (stream: Stream) => (streams.includes(stream) ? FIRST_BYTE : NOTHING_LIVE[stream]);
  let last: LiveEvent = { ...NOTHING_LIVE, gnss: first("gnss"), can: first("can") };
  let runsStored = 0;
  let measured: Readonly<Record<string, number | null>> = {};
  const plan = () => guide.say(measured, clock.utcUs());

  /** A device's report counts more than the state of its old data, unless its port is open and data arrive. */
  function health(live: LiveEvent, stream: Stream) {
    const report = reports.get(stream);
    if (report !== undefined && report.state !== "fresh") return report;
    return live[stream].state === "absent" && streams.includes(stream) ? FIRST_BYTE : live[stream];
  }

  return {
    report: (stream, report) => void reports.set(stream, report),
    add(runs) {
      runsStored += runs;
    },
    tell(live) {
      measured = { ...live.temperatures, stateOfCharge: live.stateOfCharge };
      last = { ...live, runsStored, plan: plan(), gnss: health(live, "gnss"), can: health(live, "can") };
      return last;
    },
    last: () => last,
    measured: () => measured,
    plan,
  };
}
