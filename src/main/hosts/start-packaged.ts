/** `gripbook` without a command, in a package without Electron: the screens in the browser. They lie beside the folder of this bundle, built. */
import { fileURLToPath } from "node:url";
import { keepCompiled } from "../disk/keep-compiled.ts";

// Before anything else is imported: the next start finds it compiled.
keepCompiled();
const { runStart } = await import("./run-start.ts");
runStart({ typed: "gripbook", screensFolder: async () => fileURLToPath(new URL("../renderer", import.meta.url)) });
