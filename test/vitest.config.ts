import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

export default defineConfig({
  root: fileURLToPath(new URL("..", import.meta.url)),
  test: {
    // What the processes under test keep in a person's data folder does not reach the tester's own.
    env: { XDG_DATA_HOME: fileURLToPath(new URL("../out/test-data", import.meta.url)) },
    include: ["test/**/*.test.ts"],
    exclude: ["test/e2e/**", "test/bench/**", "node_modules/**"],
    // Bounds against hanging, wide enough for a machine whose cores are kept busy by something else.
    testTimeout: 600_000,
    hookTimeout: 600_000,
    expect: { poll: { timeout: 120_000 } },
    pool: "forks",
    maxWorkers: 2,
  },
});
