/**
 * Signal files made to take long. Work that grows with the square of the file would not end in a test's minute: these have over three times
 * the 60,000 signals of the attack, which took 13 s, so they would take eleven times as long. The engine's own limit, on a process of its
 * own, bounds the memory for each letter.
 */
import { spawn } from "node:child_process";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import { createSignalDatabase } from "../../../src/shared/dbc/dbc-decode.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";

const MANY = 200_000;
const parse = (lines: readonly string[], between = "\n") => parseDbc("car.dbc", lines.join(between));
const numbered = (line: (i: number) => string, count = MANY) => Array.from({ length: count }, (_, i) => line(i));
const MESSAGE = "BO_ 1 A: 64 ECU";

describe("parseDbc() of a file made to hurt", () => {
  test("hundreds of thousands of signals on the same bits of one message, and a comment for each", () => {
    const { messages, warnings } = parse([
      MESSAGE,
      ...numbered((i) => ` SG_ S${i} : 0|8@1+ (1,0) [0|0] "" E`),
      ...numbered((i) => `CM_ SG_ 1 S${i} "c";`, 60_000),
    ]);
    expect(messages[0]?.signals).toHaveLength(MANY);
    expect(messages[0]?.signals[59_999]?.comment).toBe("c");
    expect(warnings[0]).toBe("car.dbc:3: signal A.S1 overlaps S0; both are shown");
    expect(warnings.at(-1)).toMatch(/^car\.dbc: \d+ more doubts are not shown$/);
    expect(warnings.length).toBeLessThan(1000);
  });

  test("all of it on one line", () => {
    const { messages } = parse([MESSAGE, ...numbered((i) => ` SG_ S${i} : 0|8@1+ (1,0) [0|0] "" E`)], " ");
    expect(messages[0]?.signals).toHaveLength(MANY);
  });

  test("as many branches of one multiplexor, ready to decode", () => {
    const { messages } = parse([
      MESSAGE,
      ' SG_ M M : 0|32@1+ (1,0) [0|0] "" E',
      ...numbered((i) => ` SG_ S${i} m${i} : 32|8@1+ (1,0) [0|0] "" E`),
    ]);
    const database = createSignalDatabase([{ file: "car.dbc", messages, warnings: [] }]);
    expect(database.messages[0]?.signals.at(-1)?.selector?.signal.name).toBe("M");
  });

  test("multiplexors that hang on each other, thousands deep", () => {
    const deep = 50_000;
    const { messages } = parse([
      MESSAGE,
      ...numbered((i) => ` SG_ S${i} ${i === 0 ? "M" : "m0M"} : 0|8@1+ (1,0) [0|0] "" E`, deep),
      ...numbered((i) => `SG_MUL_VAL_ 1 S${i + 1} S${i} 0-0;`, deep - 1),
    ]);
    expect(createSignalDatabase([{ file: "car.dbc", messages, warnings: [] }]).messages[0]?.signals).toHaveLength(deep);
  });

  test("signals that share one name: the last one counts", () => {
    const { messages, warnings } = parse([MESSAGE, ...numbered((i) => ` SG_ Same : ${i % 64}|8@1+ (1,0) [0|0] "" E`)]);
    expect(messages[0]?.signals.map((signal) => signal.startBit)).toEqual([(MANY - 1) % 64]);
    expect(warnings[0]).toBe("car.dbc:3: message A has two signals Same; the later one counts");
  });

  test("a name of megabytes is refused by its length", () => {
    expect(() => parse([MESSAGE, ` SG_ ${"S".repeat(7_000_000)} : 0|8@1+ (1,0) [0|0] "" E`])).toThrow(
      "car.dbc:2: expected a signal name of at most 300 letters, got 7000000",
    );
  });

  test("a comment of 50 MB costs a few times its size, and a page of it is kept", async () => {
    const script = `
      import { decodeFileText } from ${JSON.stringify(new URL("../../../src/shared/dbc/text-encoding.ts", import.meta.url).href)};
      import { parseDbc } from ${JSON.stringify(new URL("../../../src/shared/dbc/dbc-file.ts", import.meta.url).href)};
      const head = ${JSON.stringify(`${MESSAGE}\n SG_ S : 0|8@1+ (1,0) [0|0] "" E\nCM_ SG_ 1 S "`)};
      const bytes = new Uint8Array(50_000_000).fill(120);
      bytes.set(new TextEncoder().encode(head));
      bytes.set(new TextEncoder().encode('\\\\"";'), bytes.length - 4);
      const { messages } = parseDbc("car.dbc", decodeFileText(bytes));
      process.stdout.write(String(messages[0].signals[0].comment.length));`;
    const child = spawn(process.execPath, ["--max-old-space-size=300", "--input-type=module", "-e", script], {
      cwd: fileURLToPath(new URL("../../..", import.meta.url)),
      stdio: ["ignore", "pipe", "ignore"],
    });
    let out = "";
    child.stdout.setEncoding("utf8").on("data", (text: string) => {
      out += text;
    });
    const code = await new Promise((done) => child.once("close", done));
    expect([code, out]).toEqual([0, "10000"]);
  });
});
