/** The small drawings of states, as path data of 40 by 40 units: told apart by shape, never by colour alone. */
export const TICK = "M4 22 L15 33 L36 6";
export const RING = "M20 6 A14 14 0 1 0 20.1 6";
export const TRIANGLE = "M20 3 L38 36 H2 Z";
