/** Runs that are left out of tuning, in sentences by kind of reason: of hundreds left out for the same one, a single sentence. */
import { runsWords } from "../judge/wording.ts";

export interface LeftOut {
  readonly run: number;
  /** Alike for runs that are left out for the same kind of reason, such as a flag's words. */
  readonly kind: string;
  /** What was seen of this run, and what to do. */
  readonly why: string;
}

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

function sentence([first, ...rest]: readonly LeftOut[]): string[] {
  if (first === undefined) return [];
  if (rest.length === 0) return [`Run ${first.run} is left out: ${first.why}`];
  const runs = runsWords(
    [first, ...rest].map(({ run }) => run),
    "is",
    "are",
  );
  return [`${capital(runs)} left out, each for the same: ${first.kind}. Run ${first.run}: ${first.why}`];
}

/** The kinds in the order of their first runs. */
export function leftOutWords(leftOut: readonly LeftOut[]): string[] {
  const kinds = new Map<string, LeftOut[]>();
  for (const one of leftOut) {
    const alike = kinds.get(one.kind) ?? [];
    alike.push(one);
    kinds.set(one.kind, alike);
  }
  return [...kinds.values()].flatMap(sentence);
}
