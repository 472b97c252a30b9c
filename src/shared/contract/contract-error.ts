/** What breaks the contract between screen and core. Apart from contract.ts, so that a page needs no schema to read its columns. */
export class ContractError extends Error {
  readonly code = "contract";
}
