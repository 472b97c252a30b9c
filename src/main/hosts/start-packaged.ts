/** `gripbook` without a command, in a package without Electron: the screens in the browser. They lie beside the folder of this bundle, built. */
import { fileURLToPath } from "node:url";
import { runStart } from "./run-start.ts";

runStart({ typed: "gripbook", screensFolder: async () => fileURLToPath(new URL("../renderer", import.meta.url)) });
