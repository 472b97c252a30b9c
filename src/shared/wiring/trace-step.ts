/** How long and how fine the small traces of the wiring screen are. */

export const TRACE_S = 30;
export const TRACE_POINTS = 60;
export const TRACE_STEP_S = TRACE_S / TRACE_POINTS;
