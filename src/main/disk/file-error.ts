/**
 * What went wrong with a file that a person named: one line that names the file and what to do. These errors are thrown for nothing else.
 */

/** The file is not what it should be, or must not be written: a person gives another (exit 2). */
export class FileRefused extends RangeError {
  override readonly name = "FileRefused";
}

/** The disk or the system failed (exit 1). */
export class FileError extends Error {
  override readonly name = "FileError";
}

/** The system's own word for a failure, such as EACCES. */
export const codeOf = (error: unknown): string => (error as { code?: string } | null)?.code ?? String(error);
