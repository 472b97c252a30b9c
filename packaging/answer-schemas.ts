/**
 * The JSON Schema (draft-07) of what each command prints with --json, by ts-json-schema-generator from the types in
 * src/main/command-line/json-answers.ts, which the compiler holds the commands to. The generator brings the TypeScript that it needs (6), since the house's (7)
 * has no interface for such tools. Throws what the generator cannot read.
 */
import { fileURLToPath } from "node:url";
import { type Config, createFormatter, createParser, createProgram, DEFAULT_CONFIG, SchemaGenerator, ts } from "ts-json-schema-generator";

const ROOT = fileURLToPath(new URL("..", import.meta.url));
const TYPES = "src/main/command-line/json-answers.ts";
const BY_COMMAND = "JsonAnswers";

/** `skipTypeCheck`: `npm run types` does that, with the house's own TypeScript. */
const HOW = {
  ...DEFAULT_CONFIG,
  path: `${ROOT}${TYPES}`,
  tsconfig: `${ROOT}src/main/tsconfig.json`,
  expose: "all",
  topRef: false,
  jsDoc: "extended",
  skipTypeCheck: true,
} satisfies Config;

function isAnswers(node: ts.Node): node is ts.InterfaceDeclaration {
  return ts.isInterfaceDeclaration(node) && node.name.text === BY_COMMAND;
}

/** By command; each by itself, with the definitions that it needs and no others. */
export function answerSchemas(): Readonly<Record<string, object>> {
  const program = createProgram(HOW);
  const answers = program.getSourceFile(HOW.path)?.statements.find(isAnswers);
  if (answers === undefined) throw new Error(`${TYPES}: expected an interface ${BY_COMMAND}`);
  const generator = new SchemaGenerator(program, createParser(program, HOW), createFormatter(HOW), HOW);
  return Object.fromEntries(
    answers.members.filter(ts.isPropertySignature).map((member) => {
      const command = member.name.getText();
      if (member.type === undefined) throw new Error(`${TYPES}: expected a type for ${command}`);
      const { $schema, ...schema } = generator.createSchemaFromNodes([member.type]);
      return [command, { $schema, title: `What gripbook ${command} prints with --json`, ...schema }];
    }),
  );
}
