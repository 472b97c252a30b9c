/** The message of an error, whatever was thrown. Never fails. */
export const wordsOf = (error: unknown): string => (error instanceof Error ? error.message : String(error));
