/**
 * The list before driving while a core runs: what was confirmed, what a person overruled with a note, and what is stored with every run.
 * Never throws: the unknown is open.
 */
import type { AnswersTo, BeforeRow, RequestName } from "../../../shared/contract/contract.ts";
import {
  beforeDriving,
  type BeforeInput,
  type BeforeCheck,
  type CheckKey,
  type HostFacts,
} from "../../../shared/pipeline/before-driving.ts";
import type { SetUp } from "../../../shared/setup/set-up.ts";
import type { Clock } from "../../ports/clock.ts";
import { lineOf } from "../basics/failure.ts";
import type { HostState } from "../../ports/host-state.ts";

/** Asking a computer for its battery takes long, so this is the least time between two questions. */
const ASK_HOST_NS = 30e9;

interface Now extends Pick<BeforeInput, "gnss" | "can"> {
  /** Checks the last minutes together with what else is known; null before the first byte. */
  readonly check: ((seen: Omit<BeforeInput, "drive">) => Promise<readonly BeforeCheck[]>) | null;
  readonly calibratedUtcUs: number | null;
}

type BeforeRequest = Extract<RequestName, `before.${string}`>;

export interface BeforeList {
  /** Every request answers with the list as it then is. Throws RangeError on an empty note. */
  readonly answers: AnswersTo<BeforeRequest>;
  /** Checks again when the car stands ready, so that a run stores what was true then; problems become notices. */
  seeAgain(): void;
  /** One condition for a run: what was open and what was overruled when the car stood ready. */
  noted(): Readonly<Record<string, string>>;
}

export function createBeforeList({
  setUp,
  clock,
  host,
  bookFile,
  now,
  notice,
}: {
  setUp: SetUp;
  clock: Clock;
  host: HostState | null;
  bookFile: string;
  now: () => Now;
  notice: (key: string, text: string) => void;
}): BeforeList {
  const overruled = new Map<CheckKey, string>();
  let antennaConfirmed = false;
  let facts: HostFacts = { freeBytes: null, power: null };
  let askedNs = Number.NEGATIVE_INFINITY;
  let checks: readonly BeforeCheck[] | null = null;

  const told = (check: BeforeCheck): BeforeRow => ({
    ...check,
    overruled: check.state === "green" ? null : (overruled.get(check.key) ?? null),
  });

  async function askHost(nowNs: number): Promise<void> {
    if (host === null || nowNs - askedNs < ASK_HOST_NS) return;
    askedNs = nowNs;
    const [freeBytes, power] = await Promise.all([host.freeBytes(bookFile), host.power()]);
    facts = { freeBytes, power };
  }

  function overrule(key: CheckKey, note: string | null): void {
    if (note === null) overruled.delete(key);
    else if (note.trim() === "") throw new RangeError("Expected a note: write why you drive in spite of it");
    else overruled.set(key, note.trim());
  }

  async function see(): Promise<readonly BeforeRow[]> {
    const { gnss, can, check, calibratedUtcUs } = now();
    await askHost(clock.monotonicNs());
    const calibrationAgeH = calibratedUtcUs === null ? null : (clock.utcUs() - calibratedUtcUs) / 3.6e9;
    const seen = { setUp, gnss, can, calibrationAgeH, host: facts, antennaConfirmed };
    checks = check === null ? beforeDriving({ ...seen, drive: null }) : await check(seen);
    return checks.map(told);
  }

  return {
    answers: {
      "before.read": see,
      "before.overrule"({ key, note }) {
        overrule(key, note);
        return see();
      },
      "before.antenna"({ fixed }) {
        antennaConfirmed = fixed;
        return see();
      },
    },
    seeAgain() {
      see().catch((error: unknown) => notice("before", `The list before driving cannot be read: ${lineOf(error)}`));
    },
    noted() {
      if (checks === null) return {};
      const left = checks.map(told).filter(({ state }) => state !== "green");
      const open = left.filter((row) => row.overruled === null).map(({ name }) => name.toLowerCase());
      const notes = left.flatMap(({ name, overruled: note }) => (note === null ? [] : [`${name.toLowerCase()} overruled: ${note}`]));
      if (left.length === 0) return { "before driving": "all green" };
      return { "before driving": [...(open.length > 0 ? [`open: ${open.join(", ")}`] : []), ...notes].join("; ") };
    },
  };
}
