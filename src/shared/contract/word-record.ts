/**
 * A record from a page whose keys are words that people typed. Valibot's own `record` silently drops `constructor`, `prototype` and
 * `__proto__`; here they are words like any other.
 */
import * as v from "valibot";
import { byWord } from "../kernel/by-word.ts";

const isRecord = (value: unknown): value is Record<string, unknown> => typeof value === "object" && value !== null && !Array.isArray(value);

/** `most`: the number of entries allowed. */
export const wordRecord = <S extends v.GenericSchema>(word: v.GenericSchema<string>, value: S, most = 200) =>
  v.pipe(
    v.custom<Record<string, v.InferInput<S>>>(isRecord, "expected an object"),
    v.transform((record) => Object.entries(record)),
    v.array(v.tuple([word, value])),
    v.maxLength(most),
    v.transform((entries) => byWord(entries as [string, v.InferOutput<S>][])),
  );
