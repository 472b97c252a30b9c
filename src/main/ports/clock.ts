/** What time it is, for core and adapters. Reading it never fails; the wall clock is for labels, never for a result. */

export interface Clock {
  /** Host monotonic time since this process began, whole microseconds, in ns. */
  monotonicNs(): number;
  /** Wall clock, whole microseconds since 1970. */
  utcUs(): number;
  /** Seconds the computer has run, sleep included: it outruns the monotonic clock by every suspend. */
  uptimeS(): number;
}
