/**
 * The error for a broken contract between screen and core, and the text of cancelled work. Separate from contract.ts, so that a page can
 * read columns without loading the schemas.
 */

/** Cancelled work rejects with this text; screens do not show it as an error. */
export const CANCELLED = "Cancelled: everything is as it was before";

export class ContractError extends Error {
  readonly code = "contract";
}
