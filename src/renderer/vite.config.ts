/** Builds the screens into out/renderer. No file is inlined, as the pages' policy allows loading only from their own host. */
import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";
import { handbookPlugin } from "./build/handbook-plugin.ts";

const here = fileURLToPath(new URL(".", import.meta.url));

export default defineConfig({
  root: here,
  base: "./",
  publicDir: false,
  plugins: [handbookPlugin()],
  build: {
    outDir: fileURLToPath(new URL("../../out/renderer", import.meta.url)),
    emptyOutDir: true,
    assetsInlineLimit: 0,
    target: "chrome140",
    modulePreload: { polyfill: false },
  },
});
