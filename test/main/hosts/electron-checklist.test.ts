/**
 * Electron's security checklist, for the points without a policy function: what the sources must not contain, the fuses of the packed
 * program, and that the table in the docs is complete.
 */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";

const FOLDER = "src/main/hosts/electron";
const sources = readdirSync(FOLDER).map((name) => ({ name, text: readFileSync(`${FOLDER}/${name}`, "utf8") }));
const main = sources.find(({ name }) => name === "main.ts")?.text ?? "";

test("the shell opens nothing outside, turns no guard off and loads its own addresses only (items 1, 4, 9, 10, 15, 18)", () => {
  expect(sources.length).toBeGreaterThan(8);
  for (const { name, text } of sources) {
    const electron = [...text.matchAll(/import (?:type )?\{([^}]*)\} from "electron"/g)].flatMap(([, names = ""]) => names.split(","));
    expect([name, electron.filter((one) => /\b(shell|remote|webFrame|clipboard)\b/.test(one))]).toEqual([name, []]);
    expect([
      name,
      /enableBlinkFeatures|no-sandbox["'`,]|commandLine\.appendSwitch|loadFile\(|openExternal|http:\/\//.exec(text)?.[0],
    ]).toEqual([name, undefined]);
  }
  const loaded = sources.flatMap(({ text }) => [...text.matchAll(/loadURL\((.*)/g)].map(([, what = ""]) => what));
  expect(loaded).toEqual([expect.stringMatching(/^`\$\{APP_ORIGIN\}\/`/), expect.stringMatching(/^`data:text\/html;/)]);
  // Before any window there is.
  expect(main.indexOf("app.enableSandbox()")).toBeGreaterThan(0);
  expect(main.indexOf("app.enableSandbox()")).toBeLessThan(main.indexOf("new BrowserWindow"));
});

test("the packed program's fuses leave no way around it (item 19)", () => {
  const fuses = [...readFileSync("electron-builder.yml", "utf8").matchAll(/^ {2}(\w+): (true|false)$/gm)].map(([, name, on]) => [
    name,
    on === "true",
  ]);
  // Names and meanings after Electron's "Fuses" page.
  expect(Object.fromEntries(fuses)).toMatchObject({
    runAsNode: false,
    enableNodeOptionsEnvironmentVariable: false,
    enableNodeCliInspectArguments: false,
    enableCookieEncryption: true,
    enableEmbeddedAsarIntegrityValidation: true,
    onlyLoadAppFromAsar: true,
    grantFileProtocolExtraPrivileges: false,
  });
});

test("docs/security.md answers all twenty items, and every test that it names is there", () => {
  const text = readFileSync("docs/security.md", "utf8");
  const items = [...text.matchAll(/^\| (\d+)\. .*\| (.+) \|$/gm)].map(([, item, how]) => [Number(item), how ?? ""] as const);
  expect(items.map(([item]) => item)).toEqual(Array.from({ length: 20 }, (_, i) => i + 1));
  expect(items.filter(([, how]) => !/\.test\.ts`|^reason: ./.test(how))).toEqual([]);
  const named = [...text.matchAll(/`([\w/-]+\.test\.ts)`/g)].map(([, file]) => file ?? "");
  expect(named.length).toBeGreaterThan(20);
  expect(named.filter((file) => !existsSync(`test/${file}`))).toEqual([]);
});
