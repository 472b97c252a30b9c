/**
 * The texts of the passenger's view in each state: words and numbers only, from the last live event. Without an event, or with a stale one,
 * everything is unknown.
 */
import type { LaunchState, LiveEvent, RunRow } from "../../../shared/contract/contract.ts";
import { assertNever } from "../../../shared/kernel/assert-never.ts";
import { speedIn } from "../../../shared/kernel/shown-units.ts";
import { healthWord, number, plusMinus, postName, quantity, setting, shortLabel, UNKNOWN } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";
import { heldWords, slipWords } from "./loss-numerals.ts";

export interface DriveView {
  readonly plate: { readonly state: LaunchState | "unknown"; readonly word: string };
  readonly run: string;
  /** The next run's label, whole. */
  readonly label: string;
  /** figure: a number; word: one short word in large letters; setting: ON, OFF, unknown; long: a sentence. */
  readonly hero: {
    readonly label: string;
    readonly text: string;
    readonly unit: string;
    readonly size: "figure" | "word" | "setting" | "long";
    /** The value comes from the label, and the car's switch contradicts it. */
    readonly caution?: boolean;
  };
  readonly side: "pairs" | { readonly what: string; readonly how: string; readonly lines: readonly string[]; readonly caution: boolean };
  readonly slip: string;
  readonly held: string;
  readonly next: { readonly strong: string; readonly quiet: string };
  readonly action: { readonly kind: "arm"; readonly offBecause: string | null } | { readonly kind: "abort" };
  /** The run just stored filled a slot of the plan, which can be driven again. */
  readonly mayDriveAgain: boolean;
  /** There is an abort that can be explained in a note. */
  readonly mayNote: boolean;
}

export interface DriveContext {
  /** The last run stored in this session, while it is shown as new. */
  readonly news: RunRow | null;
  /** A launch has just ended, and its run is not in the book yet. */
  readonly storing: boolean;
  /** Whole seconds without a live event; null while they arrive. */
  readonly silentS: number | null;
  /** Whole seconds left of a countdown that the passenger started; null without one. */
  readonly countdownS: number | null;
  /** The car is simulated: it drives and launches by itself. */
  readonly simulated: boolean;
  /** Keys as they are shown; empty where there is none. */
  readonly keys: { readonly labels: string; readonly mark: string };
}

/** Of the measuring process; the foot says what that means. */
const NOT_MEASURING = "Nothing arrives";

/** The large figure has two decimals: the third is on the Runs page, with its interval. */
export const HERO_DIGITS = 2;

/** The car's own switch beside the label: whether it agrees with a label about it, and its position beside any other label. */
function switchWords(live: LiveEvent, what: string, how: string | null): { readonly words: string; readonly disagrees: boolean } {
  if (live.tractionControlEnabled === null) return { words: "", disagrees: false };
  const stands = live.tractionControlEnabled ? "on" : "off";
  if (how === null || !/traction|\btc\b|^(control|setting)$/i.test(what)) return { words: `Control ${stands}`, disagrees: false };
  const agrees = how.toLowerCase() === stands;
  return { words: agrees ? "Switch agrees" : `Switch says ${stands}`, disagrees: !agrees };
}

/** The plan's next slot, while the next run has the label that the plan drew. */
const planned = (live: LiveEvent) => (live.plan != null && live.plan.group === live.nextLabel ? live.plan : null);

/** From then on a launch is not armed for again by itself. */
const isPlanFull = ({ plan }: LiveEvent) => plan != null && plan.done >= plan.total;

/** "Wait 2:10": what the plan waits for; empty when nothing. */
function planWait(live: LiveEvent): string {
  const waits = live.plan?.ready === false ? live.plan.words.split("; ").slice(1).join(", ") : "";
  return waits === "" ? "" : `${waits.charAt(0).toUpperCase()}${waits.slice(1)}`;
}

/** "Next: control off", short enough for the lower line beside two buttons; the direction is shown above. Empty without a plan. */
function planNext(live: LiveEvent): string {
  if (live.plan == null) return "";
  return live.plan.group === null ? "All planned runs are in" : `Next: ${shortLabel(live.plan.group)}`;
}

/** The large figure at rest: how many runs are stored, and of how many if there is a plan. */
const runsIn = (live: LiveEvent): DriveView["hero"] =>
  live.plan == null
    ? { label: "Runs stored", text: String(live.runsStored), unit: "", size: "figure" }
    : { label: "Planned runs in", text: `${live.plan.done} of ${live.plan.total}`, unit: "", size: "setting" };

/** Until the launch just driven is in the book, the plan still has its slot as the next one. */
const STORING_FIRST = { what: "Next run", how: "Storing", lines: ["The plan\u2019s next setting follows"], caution: false };
const awaitsPlan = (live: LiveEvent, { storing }: DriveContext) => storing && live.plan != null;

function nextSetting(live: LiveEvent) {
  const { what, how } = live.nextLabel === "" ? { what: "No label", how: null } : setting(live.nextLabel);
  const charge = live.stateOfCharge === null ? "" : `charge ${quantity(live.stateOfCharge, "%")}`;
  const { words, disagrees } = switchWords(live, what, how);
  const named = disagrees ? "Label, not the switch" : how === null ? "Next run" : what;
  return {
    what: [named, planned(live)?.direction ?? ""].filter((part) => part !== "").join(", "),
    how: how ?? what,
    lines: [[words, charge].filter((line) => line !== "").join(", ")],
    caution: disagrees,
  };
}

function result(run: RunRow): DriveView["hero"] {
  if (run.seconds === null) return { label: `Run ${run.id}`, text: "0\u201360 mph not reached", unit: "", size: "long" };
  const interval = run.plusMinus95 === null ? "" : ` ${plusMinus(run.plusMinus95)} s`;
  return { label: `0\u201360 mph${interval}`, text: number(run.seconds, HERO_DIGITS), unit: "s", size: "figure" };
}

/** What is missing, why, and what to do about it. */
interface Missing {
  readonly text: string;
  readonly why: string;
  readonly act: string;
}

/** A device that was there is plugged in again; anything else is said on Before driving. */
const remedy = (health: LiveEvent["gnss"], device: string) =>
  health.state === "absent" ? `Plug the ${device} in again` : "Before driving says why";

function missing({ gnss, can }: LiveEvent): Missing | null {
  if (gnss.state !== "fresh") return { text: "No receiver", why: `Receiver: ${healthWord(gnss)}`, act: remedy(gnss, "receiver") };
  if (can.state !== "fresh") return { text: "No bus", why: `Bus: ${healthWord(can)}`, act: remedy(can, "adapter") };
  return null;
}

function idle(live: LiveEvent): Pick<DriveView, "hero" | "side" | "next" | "action"> {
  const lacks = missing(live);
  return {
    hero: lacks === null ? runsIn(live) : { label: lacks.why, text: lacks.text, unit: "", size: "long" },
    side: nextSetting(live),
    next: {
      strong: "Closed course only",
      quiet:
        lacks !== null ? lacks.act : planWait(live) || (isPlanFull(live) ? "Plan is full: arm for each run" : "Driver: eyes on the course"),
    },
    action: { kind: "arm", offBecause: live.gnss.state === "fresh" ? null : "Arm needs a receiver" },
  };
}

/**
 * The standing gate that was passed last. A rolling gate's time is a difference, so it does not show which came last; 100 km/h would
 * replace 60 mph after 0.2 s.
 */
export function lastPassed(live: LiveEvent): LiveEvent["gates"][number] | undefined {
  const timed = live.gates.filter(({ gate }) => /^0-\d+ mph$|\bft$|mile$/.test(gate));
  return timed.reduce<LiveEvent["gates"][number] | undefined>(
    (last, gate) => (last === undefined || gate.seconds > last.seconds ? gate : last),
    undefined,
  );
}

function launched(live: LiveEvent): Pick<DriveView, "hero" | "side" | "next" | "action"> {
  const last = lastPassed(live);
  const ground = speedIn(units(), live.groundSpeedMps);
  return {
    hero:
      last !== undefined
        ? {
            label: last.settled ? postName(last.gate) : `${postName(last.gate)}, provisional`,
            text: number(last.seconds, HERO_DIGITS),
            unit: "s",
            size: "figure",
          }
        : ground === null
          ? { label: "Ground speed", text: UNKNOWN, unit: "", size: "setting" }
          : { label: "Ground speed", text: number(ground), unit: units().speed, size: "figure" },
    side: "pairs",
    next: { strong: live.nextGate === null ? "No gate left" : `Next: ${postName(live.nextGate)}`, quiet: "Only Esc acts now" },
    action: { kind: "abort" },
  };
}

const doneKeys = ({ labels, mark }: DriveContext["keys"]) =>
  [
    labels === "" ? "" : labels === "1" ? "Digits label the next run" : `${labels} labels the next run`,
    mark === "" ? "" : `${mark} adds a mark`,
  ]
    .filter((part) => part !== "")
    .join(", ");

/** Well above what a standing receiver reads. */
const ROLLING_MPS = 1.4;

/** Armed: what is waited for. It is not ready while a source is missing. */
function armedWords(
  live: LiveEvent,
  { news, storing, simulated }: DriveContext,
  setting: ReturnType<typeof nextSetting>,
): DriveView["next"] {
  const lacks = missing(live);
  if (lacks !== null) return { strong: `${lacks.text}: not ready`, quiet: /^Plug/.test(lacks.act) ? lacks.act : lacks.why };
  if (news === null && !storing && (live.groundSpeedMps ?? 0) > ROLLING_MPS)
    return { strong: "Rolling: nothing is timed", quiet: simulated ? "It stops and launches by itself" : "Stand still to be ready" };
  const switched = setting.lines[0] ?? "";
  const quiet = setting.caution ? switched : planWait(live) || (news === null ? switched : `Run ${news.id} is stored`);
  return { strong: "Stand still to be ready", quiet };
}

/** Ready counts from a second after the car stood still. */
const stillFor = (readyS: number) => (readyS < 1 ? "Standing still" : `Still for ${number(Math.floor(readyS))} s`);

function byState(live: LiveEvent, context: DriveContext): Pick<DriveView, "hero" | "side" | "next" | "action"> {
  const abort = { kind: "abort" } as const;
  const settled = () => (awaitsPlan(live, context) ? STORING_FIRST : nextSetting(live));
  switch (live.state) {
    case "idle":
      return idle(live);
    case "armed": {
      const next = nextSetting(live);
      // Otherwise, until the run is stored, the view would look as before the launch: the core has armed again by itself.
      const hero: DriveView["hero"] = context.storing
        ? { label: "Launch", text: "Storing", unit: "", size: "setting" }
        : context.news === null
          ? { label: next.what, text: next.how, unit: "", size: next.how.length > 4 ? "long" : "setting", caution: next.caution }
          : result(context.news);
      return { hero, side: "pairs", next: armedWords(live, context, next), action: abort };
    }
    case "standing":
      return {
        hero:
          context.countdownS === null
            ? { label: stillFor(live.stateSinceS), text: "Ready", unit: "", size: "word" }
            : { label: "Countdown, this run only", text: String(context.countdownS), unit: "s", size: "figure" },
        side: settled(),
        next: awaitsPlan(live, context)
          ? { strong: "Wait: the next setting follows", quiet: "The launch is being stored" }
          : { strong: "Look round, then give the all-clear", quiet: "The driver starts on your word" },
        action: abort,
      };
    case "launched":
      return launched(live);
    case "done":
      return {
        hero: context.news === null ? { label: "Launch", text: "Done", unit: "", size: "word" } : result(context.news),
        side: settled(),
        next: {
          strong: context.news === null ? "Storing the run" : `Stored as run ${context.news.id}`,
          quiet: (awaitsPlan(live, context) ? "" : planNext(live)) || doneKeys(context.keys),
        },
        action: abort,
      };
    case "aborted":
      return {
        hero: { label: "Kept and flagged", text: "Aborted", unit: "", size: "setting" },
        side: settled(),
        next: { strong: "Stop, look round", quiet: "" },
        action: { kind: "arm", offBecause: null },
      };
    default:
      return assertNever(live.state);
  }
}

/** The view for the last event; `live` null when there is none or it is stale. */
export function driveView(live: LiveEvent | null, context: DriveContext): DriveView {
  if (live === null) {
    const silent =
      context.silentS === null
        ? "Waiting for the first values"
        : `${NOT_MEASURING}${context.silentS < 1 ? "" : ` for ${context.silentS} s`}`;
    return {
      plate: { state: "unknown", word: UNKNOWN },
      run: "",
      label: "",
      hero: { label: silent, text: UNKNOWN, unit: "", size: "setting" },
      side: "pairs",
      slip: UNKNOWN,
      held: UNKNOWN,
      next: { strong: "Not measuring", quiet: "Esc aborts" },
      action: { kind: "abort" },
      mayDriveAgain: false,
      mayNote: false,
    };
  }
  // The number belongs to the label. From the end of a launch on, a label is for the next run.
  const runNumber = live.runsStored + (context.storing ? 2 : 1);
  return {
    plate: { state: live.state, word: live.state },
    label: live.nextLabel,
    run: [`Run ${runNumber}`, awaitsPlan(live, context) ? "" : shortLabel(live.nextLabel)].filter((part) => part !== "").join(", "),
    slip: slipWords(live),
    held: heldWords(live),
    mayDriveAgain: live.plan != null && context.news !== null && live.state !== "launched" && live.state !== "standing",
    mayNote: live.state === "aborted",
    ...byState(live, context),
  };
}
