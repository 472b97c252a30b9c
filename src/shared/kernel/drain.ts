/** Walks work that was made to be walked in steps, all at once, and gives what it comes to; `onStep` is told each step. */
export function drain<S, R>(steps: Generator<S, R, undefined>, onStep: (step: S) => void = () => undefined): R {
  let step = steps.next();
  for (; step.done !== true; step = steps.next()) onStep(step.value);
  return step.value;
}
