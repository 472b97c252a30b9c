/**
 * Width of a text where there is no browser, from the advance widths of IBM Plex Sans (SIL Open Font License 1.1; npm
 * @fontsource/ibm-plex-sans), without kerning. A character that the table lacks counts as wide as a digit; never fails. test/e2e compares
 * it with Chromium.
 */

/** Thousandths of an em, ASCII 32 to 126. */
const MEDIUM: readonly number[] = [
  236, 299, 451, 678, 599, 947, 706, 253, 336, 336, 514, 600, 288, 401, 288, 416, 600, 600, 600, 600, 600, 600, 600, 600, 600, 600, 308,
  308, 600, 600, 600, 487, 896, 660, 659, 634, 682, 593, 570, 705, 714, 414, 531, 660, 513, 815, 714, 711, 627, 711, 655, 599, 577, 685,
  627, 926, 639, 617, 592, 324, 416, 324, 600, 561, 600, 549, 592, 509, 592, 555, 340, 538, 580, 265, 265, 548, 285, 882, 580, 562, 592,
  592, 383, 494, 365, 580, 512, 799, 530, 514, 487, 355, 352, 355, 600,
];
const BOLD: readonly number[] = [
  236, 320, 493, 632, 601, 974, 721, 268, 338, 338, 601, 600, 310, 403, 310, 460, 600, 600, 600, 600, 600, 600, 600, 600, 600, 600, 330,
  330, 600, 600, 600, 500, 903, 685, 667, 651, 697, 607, 585, 719, 724, 432, 559, 696, 530, 819, 724, 714, 656, 714, 674, 624, 584, 694,
  650, 973, 673, 649, 607, 334, 460, 334, 600, 556, 600, 569, 608, 517, 608, 562, 361, 552, 596, 286, 286, 577, 303, 894, 596, 564, 608,
  608, 404, 504, 383, 596, 538, 841, 560, 534, 518, 372, 402, 372, 600,
];
/** Characters beyond ASCII that the figures use: medium, bold. */
const FURTHER: Readonly<Record<string, readonly [number, number]>> = {
  "\u00a0": [236, 236],
  "°": [469, 470],
  "±": [600, 600],
  "²": [346, 347],
  "–": [588, 588],
  "—": [780, 780],
  "−": [600, 600],
  "…": [843, 897],
  "×": [600, 600],
  "·": [340, 358],
};
const DIGIT = 600;

/** `font` as a pen takes it: `500 20px "IBM Plex Sans"`. */
export function textWidth(text: string, font: string): number {
  const [, weight = "500", size = "16"] = /^(\d+) ([\d.]+)px/.exec(font) ?? [];
  const bold = Number(weight) >= 600;
  let thousandths = 0;
  for (const letter of text) thousandths += FURTHER[letter]?.[bold ? 1 : 0] ?? (bold ? BOLD : MEDIUM)[letter.charCodeAt(0) - 32] ?? DIGIT;
  return (thousandths * Number(size)) / 1000;
}
