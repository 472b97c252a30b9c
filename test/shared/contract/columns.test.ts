/**
 * Binary columns written and read back, and every way in which a block can be wrong. Bytes compared with Node's own DataView and
 * TextEncoder.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { decodeColumns, encodeColumns } from "../../../src/shared/contract/columns.ts";
import { ContractError } from "../../../src/shared/contract/contract-error.ts";

test("decodeColumns() gives back what encodeColumns() took, unknown values and any text included", () => {
  const column = fc.array(fc.float({ noDefaultInfinity: true }), { maxLength: 40 });
  fc.assert(
    fc.property(
      fc.array(fc.record({ name: fc.string({ unit: "grapheme" }), unit: fc.string(), values: column }), { maxLength: 6 }),
      (items) => {
        const data = {
          names: items.map((item) => item.name),
          units: items.map((item) => item.unit),
          columns: items.map((item) => Float32Array.from(item.values)),
        };
        const bytes = encodeColumns(data);
        // From any place in a larger block, as a socket hands it over.
        const shifted = new Uint8Array(bytes.length + 7);
        shifted.set(bytes, 5);
        expect(decodeColumns(shifted.subarray(5, 5 + bytes.length))).toEqual(data);
      },
    ),
    { numRuns: 200 },
  );
});

test("encodeColumns() writes a little-endian head length, UTF-8 JSON and little-endian floats", () => {
  const bytes = encodeColumns({ names: ["°"], units: ["m/s²"], columns: [Float32Array.of(1.5)] });
  const view = new DataView(bytes.buffer);
  const head = bytes.subarray(4, 4 + view.getUint32(0, true));
  expect(new TextDecoder("utf-8", { fatal: true }).decode(head)).toBe('{"names":["°"],"units":["m/s²"],"rows":[1]}');
  expect(view.getFloat32(bytes.length - 4, true)).toBe(1.5);
});

test.each([
  ["nothing", Uint8Array.of()],
  ["a head beyond the block", Uint8Array.of(255, 0, 0, 0, 1)],
  ["a head that is no JSON", Uint8Array.of(1, 0, 0, 0, 0x7b, 0, 0, 0)],
  ["a head that is no UTF-8", Uint8Array.of(1, 0, 0, 0, 0xff, 0, 0, 0)],
  ["a head of another shape", Uint8Array.of(2, 0, 0, 0, 0x5b, 0x5d, 0, 0)],
])("decodeColumns() refuses %s", (_name, bytes) => {
  expect(() => decodeColumns(bytes)).toThrow(ContractError);
});

test("decodeColumns() refuses a block cut short and one too long", () => {
  const bytes = encodeColumns({ names: ["a"], units: [""], columns: [Float32Array.of(1, 2, 3)] });
  expect(() => decodeColumns(bytes.subarray(0, bytes.length - 1))).toThrow("expected");
  expect(() => decodeColumns(Uint8Array.of(...bytes, 0))).toThrow("expected");
});

test("encodeColumns() refuses names that do not match columns", () => {
  expect(() => encodeColumns({ names: ["a", "b"], units: ["", ""], columns: [Float32Array.of(1)] })).toThrow(ContractError);
});
