/** Runs a generator to its end without pauses and gives its result; `onStep` is called with each step. */
export function drain<S, R>(steps: Generator<S, R, undefined>, onStep: (step: S) => void = () => undefined): R {
  let step = steps.next();
  for (; step.done !== true; step = steps.next()) onStep(step.value);
  return step.value;
}
