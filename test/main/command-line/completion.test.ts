/** `completion`, in a real bash: what Tab offers is compared with what the command's own --help lists (commander writes that; the script reads its commands). */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { gripbook } from "../../support/run-gripbook.ts";

const hasBash = spawnSync("bash", ["-c", "type compgen"]).status === 0;
if (!hasBash) console.warn("SKIPPED: shell completion needs bash");

let folder = "";
let script = "";
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-completion-"));
  script = join(folder, "gripbook.bash");
  const { code, out } = await gripbook("completion");
  expect(code).toBe(0);
  writeFileSync(script, out);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** What the function offers for the last of the words, as bash calls it (its manual, "Programmable Completion"). */
function offered(...words: string[]): string[] {
  const asked = `source "$0" && COMP_WORDS=(gripbook "$@") && COMP_CWORD=$# && { _gripbook || true; } && printf '%s\\n' "\${COMPREPLY[@]}"`;
  const { status, stdout, stderr } = spawnSync("bash", ["--norc", "-u", "-c", asked, script, ...words], { encoding: "utf8" });
  expect([status, stderr]).toEqual([0, ""]);
  return stdout.split("\n").filter((line) => line !== "");
}

const optionsIn = (help: string) =>
  [...help.matchAll(/^ {2}(?:(-\w), )?(--[\w-]+)/gm)].flatMap(([, short, long]) => [short, long].filter(Boolean));

test.runIf(hasBash)("Tab offers every command that --help lists, and every option of each", async () => {
  const { out } = await gripbook("--help");
  const commands = [...(out.split("Commands:")[1] ?? "").matchAll(/^ {2}([\w-]+)/gm)].map(([, name]) => name as string);
  expect(commands.length).toBeGreaterThan(20);
  expect(offered("").sort()).toEqual(commands.sort());
  expect(offered("re").sort()).toEqual(commands.filter((name) => name.startsWith("re")).sort());
  expect(offered("--").sort()).toEqual(
    optionsIn(out)
      .filter((name) => name?.startsWith("--"))
      .sort(),
  );
  for (const command of ["export", "import", "compare"]) {
    const help = (await gripbook(command, "--help")).out;
    expect(offered(command, "-").sort()).toEqual(optionsIn(help).sort());
  }
  expect(offered("export", "all", "--book", "day.gripbook", "--a")).toEqual(["--as"]);
});

test.runIf(hasBash)("where a file or a word of one's own is due nothing is offered, so that bash completes file names", () => {
  for (const words of [
    ["runs", "--book", ""],
    ["runs", "--book", "-"],
    ["runs", "--book", "="],
    ["runs", "--book", "=", "da"],
    ["show", "1"],
  ])
    expect(offered(...words)).toEqual([]);
  const registered = spawnSync("bash", ["--norc", "-c", `source "$0"; complete -p gripbook`, script], { encoding: "utf8" }).stdout;
  expect(registered).toBe("complete -o bashdefault -o default -F _gripbook gripbook\n");
});

test.runIf(hasBash)("nothing of the line that is typed is run", () => {
  const made = join(folder, "made");
  for (const words of [[`$(touch ${made})`], ["runs", "--book", `\`touch ${made}\``, "-"], ["export", `-$(touch ${made})`]])
    offered(...words);
  expect(spawnSync("ls", [made]).status).not.toBe(0);
});
