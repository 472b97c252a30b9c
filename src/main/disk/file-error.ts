/** What went wrong with a file a person named. Each is one line that names the file and what to do; neither is thrown for anything else. */

/** The file cannot be what it was given as, or may not be written: a person gives another (exit 2). */
export class FileRefused extends RangeError {
  override readonly name = "FileRefused";
}

/** The disk or the system would not (exit 1). */
export class FileError extends Error {
  override readonly name = "FileError";
}

/** The system's own word for a failure, such as EACCES. */
export const codeOf = (error: unknown): string => (error as { code?: string } | null)?.code ?? String(error);
