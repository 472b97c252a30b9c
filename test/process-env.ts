/** What every process under test finds in its environment. Both folders are inside the checkout, and may be deleted at any time. */
import { fileURLToPath } from "node:url";

const inOut = (name: string) => fileURLToPath(new URL(`../out/${name}`, import.meta.url));

export const PROCESS_ENV = {
  // What the processes under test keep in a person's data folder does not reach the tester's own.
  XDG_DATA_HOME: inOut("test-data"),
  // Hundreds of short processes read the same source: Node keeps it compiled here, by its content, so that each starts in half the time.
  NODE_COMPILE_CACHE: inOut("compiled"),
};
