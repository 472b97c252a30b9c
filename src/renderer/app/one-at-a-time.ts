/**
 * Work that is asked for while it is going on is done once more after it, however often it was asked for: each caller gets a result that is
 * from after its call. A failure rejects for those who wait for that round.
 */
export function oneAtATime(work: () => Promise<void>): () => Promise<void> {
  let going: Promise<void> | null = null;
  let next: Promise<void> | null = null;
  function start(): Promise<void> {
    const round = work().finally(() => {
      going = null;
    });
    going = round;
    return round;
  }
  const startNext = () => {
    next = null;
    return start();
  };
  return () => {
    if (going === null) return next ?? start();
    next ??= going.then(startNext, startNext);
    return next;
  };
}
