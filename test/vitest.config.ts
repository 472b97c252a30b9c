import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

export default defineConfig({
  root: fileURLToPath(new URL("..", import.meta.url)),
  test: {
    include: ["test/**/*.test.ts"],
    exclude: ["test/e2e/**", "test/bench/**", "node_modules/**"],
    testTimeout: 60_000,
    pool: "forks",
    maxWorkers: 2,
  },
});
