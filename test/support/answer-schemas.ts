/** Checks what a command printed with --json by its schema in docs/schema/answers, with an independent validator (Ajv). */
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { Ajv, type ValidateFunction } from "ajv";

const folder = fileURLToPath(new URL("../../docs/schema/answers/", import.meta.url));
const known = new Map<string, ValidateFunction>();

function validatorOf(command: string): ValidateFunction {
  const before = known.get(command);
  if (before !== undefined) return before;
  const ajv = new Ajv({ strict: true, allowUnionTypes: true, allErrors: true });
  const validate = ajv.compile(JSON.parse(readFileSync(`${folder}${command}.schema.json`, "utf8")));
  known.set(command, validate);
  return validate;
}

/** Where an answer is not what its schema says; null where it is. */
export function answerFault(command: string, answer: unknown): string | null {
  const validate = validatorOf(command);
  if (validate(answer)) return null;
  const told = validate.errors?.map(({ instancePath, message, params }) => `${instancePath} ${message} ${JSON.stringify(params)}`) ?? [];
  return `gripbook ${command} --json: ${told.slice(0, 5).join("; ")}`;
}
