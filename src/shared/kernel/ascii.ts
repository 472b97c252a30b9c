/** The ASCII bytes that end, part and open the lines of devices and logs (ISO 646). */
/** An adapter's "refused"; it also ends a line. */
export const BEL = 0x07;
export const LF = 0x0a;
export const CR = 0x0d;
export const SPACE = 0x20;
export const OPEN = 0x28;
export const CLOSE = 0x29;
export const DOT = 0x2e;
