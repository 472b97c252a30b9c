/** Looks whether a gpsd answers on this computer: reads its greeting and writes nothing. Null where none does. Never fails. */
import type { PortView } from "../../../shared/contract/contract.ts";
import { GPSD_PORT } from "../../../shared/setup/source-name.ts";
import type { Clock } from "../../ports/clock.ts";
import { wait } from "../sources/wait.ts";
import { createGpsdWords } from "./gpsd-words.ts";
import { openTcpLine } from "./tcp-line.ts";

const GREETING_MS = 500;

export async function hearGpsd(clock: Clock, port = GPSD_PORT): Promise<PortView | null> {
  const words = createGpsdWords();
  const over = new AbortController();
  try {
    const line = await openTcpLine({
      host: "localhost",
      port,
      clock,
      stopping: over.signal,
      onBytes(bytes) {
        words.take(bytes);
        if (words.isGreeted) over.abort();
      },
      onClose: () => over.abort(),
    });
    await wait(GREETING_MS, over.signal);
    await line.close();
  } catch {
    // Nobody listens there: most computers have no gpsd.
    return null;
  }
  return words.isGreeted
    ? { path: `gpsd localhost:${port}`, description: "", talks: 'gpsd answers: "gpsd": "localhost" in the set-up reads its receiver' }
    : null;
}
