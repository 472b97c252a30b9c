/** Where two runs are aligned: at the start, or where both passed a gate. A gate that one of them missed cannot be used. */
import type { RunData } from "./run-data.ts";

const passed = (run: RunData) =>
  new Map(
    run.view.gates.flatMap((gate) => (gate.start === "movement" && gate.seconds !== null ? [[gate.gate, gate.seconds] as const] : [])),
  );

/** Gates that both passed, counted from movement, earliest first. */
export function sharedGates(run: RunData, reference: RunData): string[] {
  const other = passed(reference);
  return [...passed(run)]
    .filter(([gate]) => other.has(gate))
    .sort((a, b) => a[1] - b[1])
    .map(([gate]) => gate);
}

/** Both runs' times at the place of alignment; 0 and 0 at the start, or where one of them lacks the gate. */
export function alignedAt(run: RunData, reference: RunData, gate: string | null): { readonly runS: number; readonly referenceS: number } {
  const [runS, referenceS] = gate === null ? [0, 0] : [passed(run).get(gate), passed(reference).get(gate)];
  return runS === undefined || referenceS === undefined ? { runS: 0, referenceS: 0 } : { runS, referenceS };
}
