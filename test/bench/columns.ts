/** How many signals a stored run has that the screens' bench opens (60 s with 40 signals). */
export const COLUMNS = 40;
