/** Words as people and hostile books may choose them: names that every JavaScript object has already (ECMA-262, 20.1.3), beside any text. For fast-check. */
import fc from "fast-check";

const OBJECTS_OWN = [...Object.getOwnPropertyNames(Object.prototype), "prototype", "then", "toJSON", "length", "name", "0"];

/** One word: every second is a name that an object has without anybody having put it there. */
export const oddWord = fc.oneof(
  fc.constantFrom(...OBJECTS_OWN),
  fc.string({ unit: "grapheme", minLength: 1, maxLength: 12 }).filter((text) => text.trim() === text),
);

/** So many different words. */
export const oddWords = (count: number) => fc.uniqueArray(oddWord, { minLength: count, maxLength: count });
