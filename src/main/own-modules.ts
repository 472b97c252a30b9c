/**
 * Where Gripbook's own modules are that run as a process or a thread of their own: in the source tree each in its folder, in a bundle side by side.
 * Builds take their list from here. Pure; never fails.
 */

/** Name in a bundle to the module's place below src/main. */
export const OWN_MODULES = {
  ingest: "ingest/ingest-process.ts",
  estimator: "ingest/estimator-worker.ts",
  tuning: "ingest/tuning-worker.ts",
  launch: "ingest/launch-worker.ts",
  happened: "ingest/happened-worker.ts",
  network: "hosts/web/web-host-process.ts",
} as const;

export type OwnModule = keyof typeof OWN_MODULES;

export const ownModule = (name: OwnModule): URL =>
  new URL(import.meta.url.endsWith(".ts") ? `./${OWN_MODULES[name]}` : `./${name}.mjs`, import.meta.url);
