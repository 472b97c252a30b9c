/** The greatest length of a text: what the contract accepts, and what a field lets people type. */
export const NOTE_LETTERS = 2000;
export const LABEL_LETTERS = 200;
