/** The measuring process with the simulated car at four times its pace, for browser tests where the clock is not what is tested. */
import { hostClock } from "../../src/main/compose.ts";
import { hostPort } from "../../src/main/ingest/host-port.ts";
import { runIngest } from "../../src/main/ingest/run-ingest.ts";

const PACE = 4;

const clock = hostClock();
const [startUtcUs, startUptimeS] = [clock.utcUs(), clock.uptimeS()];
runIngest(hostPort(), {
  monotonicNs: () => clock.monotonicNs() * PACE,
  utcUs: () => startUtcUs + (clock.utcUs() - startUtcUs) * PACE,
  uptimeS: () => startUptimeS + (clock.uptimeS() - startUptimeS) * PACE,
});
