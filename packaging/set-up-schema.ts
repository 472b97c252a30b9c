/**
 * The JSON Schema (draft 2020-12) of the set-up file, by Valibot's own converter from the schema that the program checks with. What Valibot checks by a
 * function (that a text reads as a tyre's marking) is looser here, and so is what relates two signals: the program says those.
 */
import { type ConversionConfig, toJsonSchema } from "@valibot/to-json-schema";
import type { GenericSchema } from "valibot";
import { RADIUS_KEYS, setUpSchema } from "../src/shared/setup/check-set-up.ts";
import { REQUIRED_ROLES } from "../src/shared/setup/roles.ts";

/** Checks by a function have no counterpart, and what a default or a rewriting gives is not what people write. */
const LEFT_OUT = ["check", "trim", "transform"];

/** A source is one of several kinds, told by their keys (check-sources.ts). */
const kindsOf = (schema: object) => (schema as { readonly kinds?: readonly GenericSchema[] }).kinds;

const HOW: ConversionConfig = {
  target: "draft-2020-12",
  typeMode: "input",
  errorMode: "throw",
  ignoreActions: LEFT_OUT,
  overrideSchema({ valibotSchema }) {
    const kinds = kindsOf(valibotSchema);
    return kinds === undefined ? undefined : { anyOf: kinds.map(withoutAddress) };
  },
};

function withoutAddress(kind: GenericSchema) {
  const { $schema: _, ...rest } = toJsonSchema(kind, HOW);
  return rest;
}

interface ObjectSchema {
  readonly properties?: Readonly<Record<string, unknown>>;
}

export function setUpJsonSchema(): object {
  const { $schema, $defs: _kinds, ...rest } = toJsonSchema(setUpSchema, HOW);
  const { car, signals, ...others } = (rest as ObjectSchema).properties ?? {};
  return {
    $schema,
    title: "Set-up of Gripbook",
    description: "docs/set-up.md says what each key means",
    ...rest,
    properties: {
      ...others,
      car: { ...(car as object), anyOf: RADIUS_KEYS.map((key) => ({ required: [key] })) },
      signals: { ...(signals as object), required: [...REQUIRED_ROLES] },
    },
  };
}
