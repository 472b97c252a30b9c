/** Ends a switch over a union: a new member fails to compile, and throws if it gets here anyway. */
export function assertNever(value: never): never {
  throw new TypeError(`Unexpected value ${String(value)}`);
}
