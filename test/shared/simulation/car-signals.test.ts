/** Bits of the bus against published signal-file vectors, and the signal file against the frames. */
import { expect, test } from "vitest";
import { carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { BUS_MESSAGES, type BusSignal, putSignal } from "../../../src/shared/simulation/car-signals.ts";

const base: BusSignal = { name: "S", start: 0, length: 8, order: "intel", signed: false, factor: 1, offset: 0, unit: "" };
const hex = (data: Uint8Array) => Buffer.from(data).toString("hex").toUpperCase();

function frame(parts: [Partial<BusSignal>, number][], length = 8): string {
  const data = new Uint8Array(length);
  for (const [form, value] of parts) putSignal({ ...base, ...form }, value, data);
  return hex(data);
}

test("putSignal() writes the published Motorola frames (cantools, motohawk: 250.55, 3.2, 1 and 229.53)", () => {
  const temperature = { start: 0, length: 12, order: "motorola", signed: true, factor: 0.01, offset: 250 } as const;
  const radius = { start: 6, length: 6, order: "motorola", factor: 0.1 } as const;
  const enable = { start: 7, length: 1, order: "motorola" } as const;
  expect(
    frame([
      [temperature, 250.55],
      [radius, 3.2],
      [enable, 1],
    ]),
  ).toBe("C006E00000000000");
  expect(frame([[temperature, 229.53]])).toBe("0100200000000000");
});

test("putSignal() writes a real car's 15-bit Motorola wheel speeds (0xAA 25B525B525A0258D)", () => {
  const wheel = (start: number) => ({ start, length: 15, order: "motorola", factor: 0.01, offset: -67.67 }) as const;
  expect(
    frame([
      [wheel(6), 28.86],
      [wheel(22), 28.86],
      [wheel(38), 28.65],
      [wheel(54), 28.46],
    ]),
  ).toBe("25B525B525A0258D");
});

test("putSignal() writes Intel fields with offset (cantools, socialledge MOTOR_CMD 92: steer -3, drive 9)", () => {
  expect(
    frame(
      [
        [{ start: 0, length: 4, signed: true, offset: -5 }, -3],
        [{ start: 4, length: 4 }, 9],
      ],
      1,
    ),
  ).toBe("92");
});

test("putSignal() holds a value inside the signal's range instead of letting it wrap", () => {
  expect(frame([[{ signed: true }, 500]], 1)).toBe("7F");
  expect(frame([[{ signed: true }, -500]], 1)).toBe("80");
  expect(frame([[{}, -1]], 1)).toBe("00");
});

test("carSignalFile() names every message and signal of the bus with its own bits, and no two signals of a frame share one", () => {
  const text = carSignalFile();
  let signals = 0;
  for (const m of BUS_MESSAGES) {
    expect(text).toContain(`BO_ ${m.extended ? m.id + 0x80000000 : m.id} ${m.name}: ${m.length} `);
    const taken = new Map<number, BusSignal>();
    for (const s of m.signals) {
      signals += 1;
      const ones = new Uint8Array(m.length);
      putSignal({ ...s, signed: false, factor: 1, offset: 0 }, 2 ** s.length - 1, ones);
      const branch = s.branch === undefined ? "" : s.branch === "selector" ? " M" : ` m${s.branch}`;
      expect(text).toContain(
        ` SG_ ${s.name}${branch} : ${s.start}|${s.length}@${s.order === "intel" ? 1 : 0}${s.signed ? "-" : "+"} (${s.factor},${s.offset}) `,
      );
      let bits = 0;
      for (let bit = 0; bit < 8 * m.length; bit += 1) {
        if ((ones[bit >> 3] >> (bit & 7)) % 2 === 0) continue;
        bits += 1;
        const other = taken.get(bit);
        expect(other === undefined || (typeof other.branch === "number" && other.branch !== s.branch)).toBe(true);
        taken.set(bit, s);
      }
      expect(bits).toBe(s.length);
    }
  }
  expect(text.match(/^ SG_ /gm)?.length).toBe(signals);
});
