/** Builds the screens into out/renderer: no inlined files, as the pages' policy loads everything from their own host. */
import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const here = fileURLToPath(new URL(".", import.meta.url));

export default defineConfig({
  root: here,
  base: "./",
  publicDir: false,
  build: {
    outDir: fileURLToPath(new URL("../../out/renderer", import.meta.url)),
    emptyOutDir: true,
    assetsInlineLimit: 0,
    target: "chrome140",
    modulePreload: { polyfill: false },
  },
});
