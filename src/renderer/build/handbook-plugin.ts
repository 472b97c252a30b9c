/** Puts the handbook into the screens while they are built: `import { CHAPTERS, PICTURES } from ".../docs/handbook/README.md"`. What the chapters lack stops the build. */
import { join } from "node:path";
import type { Plugin } from "vite";
import { picturesOf, readHandbook } from "./read-handbook.ts";

/** The list of chapters stands for all of them. */
const LIST = /\/docs\/handbook\/README\.md$/;

export function handbookPlugin(): Plugin {
  return {
    name: "gripbook-handbook",
    enforce: "pre",
    transform(_, id) {
      if (!LIST.test(id)) return null;
      const folder = join(id, "..");
      const chapters = readHandbook(folder);
      const pictures = picturesOf(chapters);
      for (const { name } of chapters) this.addWatchFile(join(folder, `${name}.md`));
      return {
        code: [
          ...pictures.map((name, i) => `import picture${i} from ${JSON.stringify(join(folder, "pictures", name))};`),
          `export const CHAPTERS = ${JSON.stringify(chapters)};`,
          `export const PICTURES = {${pictures.map((name, i) => `${JSON.stringify(name)}: picture${i}`).join(", ")}};`,
        ].join("\n"),
        map: null,
      };
    },
  };
}
