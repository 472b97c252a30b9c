/** Length and step of the small traces on the Wiring screen. */

export const TRACE_S = 30;
export const TRACE_POINTS = 60;
export const TRACE_STEP_S = TRACE_S / TRACE_POINTS;
