/**
 * Run columns as bytes: length of the head (little-endian), JSON head (names, units, rows), padding, then one block of 32-bit floats a
 * column. Bytes that do not fit together throw ContractError; unknown values stay NaN.
 */
import type { RunColumns } from "./contract.ts";
import { ContractError } from "./contract-error.ts";

interface Head {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly rows: readonly number[];
}

const LENGTH_BYTES = 4;

/** A view of 32-bit floats needs an offset that is a multiple of 4. */
const aligned = (offset: number) => Math.ceil(offset / 4) * 4;

/** UTF-8 written out here, because `TextEncoder` is not part of the plain language that shared code may use. */
function utf8(text: string): Uint8Array {
  const escaped = encodeURIComponent(text);
  const bytes: number[] = [];
  for (let i = 0; i < escaped.length; i += 1) {
    if (escaped[i] === "%") {
      bytes.push(Number.parseInt(escaped.slice(i + 1, i + 3), 16));
      i += 2;
    } else bytes.push(escaped.charCodeAt(i));
  }
  return Uint8Array.from(bytes);
}

function fromUtf8(bytes: Uint8Array): string {
  let escaped = "";
  for (const byte of bytes) escaped += `%${byte.toString(16).padStart(2, "0")}`;
  try {
    return decodeURIComponent(escaped);
  } catch (cause) {
    throw new ContractError("Run columns: the head is not UTF-8", { cause });
  }
}

/** Columns to bytes. Throws ContractError when the numbers of names, units and columns differ. */
export function encodeColumns(data: RunColumns): Uint8Array {
  const { names, units, columns } = data;
  if (names.length !== columns.length || units.length !== columns.length) {
    throw new ContractError(`Run columns: ${names.length} names, ${units.length} units, ${columns.length} columns`);
  }
  const head: Head = { names, units, rows: columns.map((column) => column.length) };
  const headBytes = utf8(JSON.stringify(head));
  const start = aligned(LENGTH_BYTES + headBytes.length);
  const size = columns.reduce((sum, column) => sum + column.length * 4, start);
  const bytes = new Uint8Array(size);
  new DataView(bytes.buffer).setUint32(0, headBytes.length, true);
  bytes.set(headBytes, LENGTH_BYTES);
  let offset = start;
  for (const column of columns) {
    new Float32Array(bytes.buffer, offset, column.length).set(column);
    offset += column.length * 4;
  }
  return bytes;
}

const isStrings = (value: unknown): value is string[] => Array.isArray(value) && value.every((item) => typeof item === "string");
const isCounts = (value: unknown): value is number[] => Array.isArray(value) && value.every((item) => Number.isInteger(item) && item >= 0);

function readHead(bytes: Uint8Array): Head {
  let head: unknown;
  try {
    head = JSON.parse(fromUtf8(bytes));
  } catch (cause) {
    throw new ContractError("Run columns: the head is not JSON", { cause });
  }
  const { names, units, rows } = (head ?? {}) as Record<string, unknown>;
  if (!isStrings(names) || !isStrings(units) || !isCounts(rows) || names.length !== rows.length || units.length !== rows.length) {
    throw new ContractError("Run columns: the head must hold names, units and rows of one length");
  }
  return { names, units, rows };
}

/** Bytes to columns. Throws ContractError that names what does not fit. */
export function decodeColumns(bytes: Uint8Array): RunColumns {
  if (bytes.length < LENGTH_BYTES) throw new ContractError(`Run columns: ${bytes.length} bytes are no head`);
  const headLength = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength).getUint32(0, true);
  const start = aligned(LENGTH_BYTES + headLength);
  if (start > bytes.length) throw new ContractError(`Run columns: head of ${headLength} bytes in a block of ${bytes.length}`);
  const head = readHead(bytes.subarray(LENGTH_BYTES, LENGTH_BYTES + headLength));
  const expected = head.rows.reduce((sum, rows) => sum + rows * 4, start);
  if (expected !== bytes.length) throw new ContractError(`Run columns: expected ${expected} bytes, got ${bytes.length}`);
  const body = bytes.slice(start).buffer;
  let offset = 0;
  const columns = head.rows.map((rows) => {
    const column = new Float32Array(body, offset, rows);
    offset += rows * 4;
    return column;
  });
  return { names: head.names, units: head.units, columns };
}
