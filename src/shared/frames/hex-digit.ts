/** Reads hexadecimal numbers from ASCII bytes without making strings. A byte that is no digit gives a negative number. */

/** Value of each ASCII hexadecimal digit, -1 for every other byte. */
export const HEX_DIGIT = new Int8Array(256).fill(-1);
for (let i = 0; i < 10; i++) HEX_DIGIT[0x30 + i] = i;
for (let i = 0; i < 6; i++) {
  HEX_DIGIT[0x41 + i] = 10 + i;
  HEX_DIGIT[0x61 + i] = 10 + i;
}

/** The number in `count` (at most 13) digits from index `from`; -1 if any byte is not a digit. */
export function readHex(bytes: Uint8Array, from: number, count: number): number {
  let value = 0;
  for (let i = from; i < from + count; i++) {
    const digit = HEX_DIGIT[bytes[i]];
    if (digit < 0 || digit === undefined) return -1;
    value = value * 16 + digit;
  }
  return value;
}
