import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";
import { LongFirst } from "./long-first.ts";
import { PROCESS_ENV } from "./process-env.ts";

export default defineConfig({
  root: fileURLToPath(new URL("..", import.meta.url)),
  test: {
    env: PROCESS_ENV,
    setupFiles: [fileURLToPath(new URL("property-seed.ts", import.meta.url))],
    // Bounds against hanging, wide enough for a machine whose cores are kept busy by something else.
    testTimeout: 600_000,
    hookTimeout: 600_000,
    expect: { poll: { timeout: 120_000 } },
    pool: "forks",
    sequence: { sequencer: LongFirst },
    // Both kinds of file share them. Some wait for cars, processes and ports while others work; more at once would only make a car's real pace too fast for two cores.
    maxWorkers: 3,
    projects: [
      {
        extends: true,
        test: {
          name: "unit",
          include: ["test/**/*.test.ts"],
          exclude: ["test/e2e/**", "node_modules/**"],
        },
      },
      {
        extends: true,
        test: { name: "browser", include: ["test/e2e/**/*.test.ts"] },
      },
    ],
  },
});
