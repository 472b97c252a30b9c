/**
 * Time inside one recording: integer nanoseconds since its first packet, on the host's monotonic clock. A plain number, exact to 2^53 ns =
 * 104 days. Arrival stamps are whole microseconds, so text logs with `(sec.micros)` hold them without loss.
 */
export type TimeNs = number;
