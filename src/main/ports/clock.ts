/** The clocks for core and adapters. Reading them never fails; the wall clock is for labels, never for a result. */

export interface Clock {
  /** Host monotonic time since this process began, whole microseconds, in ns. */
  monotonicNs(): number;
  /** Wall clock, whole microseconds since 1970. */
  utcUs(): number;
  /** Seconds since the computer started, including sleep: the monotonic clock does not count sleep. */
  uptimeS(): number;
}
