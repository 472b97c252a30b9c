/**
 * Time inside one recording: integer nanoseconds since the recording's first packet, on the host's
 * monotonic clock, as a plain number (exact to 2^53 ns = 104 days). Arrival stamps are whole
 * microseconds, so text logs with `(sec.micros)` carry them without loss.
 */
export type TimeNs = number;
