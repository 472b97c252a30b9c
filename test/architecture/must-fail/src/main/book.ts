export const book = 1;
