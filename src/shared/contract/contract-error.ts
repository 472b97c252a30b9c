/** What breaks the contract between screen and core, and what cancelled work says. Apart from contract.ts, so that a page needs no schema to read its columns. */

/** What cancelled work rejects with: no error, and shown as none. */
export const CANCELLED = "Cancelled: everything is as it was before";

export class ContractError extends Error {
  readonly code = "contract";
}
