/** How many letters of a text are kept: what the contract takes, and what a field lets be typed. */
export const NOTE_LETTERS = 2000;
export const LABEL_LETTERS = 200;
