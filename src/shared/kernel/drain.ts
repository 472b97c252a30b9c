/** Walks work that was made to be walked in steps, all at once, and gives what it comes to. */
export function drain<R>(steps: Generator<unknown, R, undefined>): R {
  let step = steps.next();
  while (step.done !== true) step = steps.next();
  return step.value;
}
