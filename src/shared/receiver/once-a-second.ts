/** Recognises a receiver that still sends once a second, as most do until somebody sets them (common practice, no source). Pure. */

export const isOnceASecond = (hz: number): boolean => hz > 0.8 && hz < 1.25;

/** What to do about it: Gripbook only listens. */
export const ONCE_A_SECOND =
  "most are delivered so; its maker\u2019s own program sets it to 10 Hz, or as fast as it can, and to a baud that carries it; Gripbook writes nothing to a receiver";
