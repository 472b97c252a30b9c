/** How far one run is ahead of another in time, at equal ground speed from movement on; NaN where either has not that speed or it is unknown. */
import type { RunData } from "./run-data.ts";
/** For each sample of `data`: seconds ahead of `reference` (negative: behind) when it first had its speed. */
export declare function secondsAhead(data: RunData, reference: RunData): Float32Array;
/** "Run 8 is 0.63 s ahead of run 4 at 60 mph", or why that cannot be said. */
export declare function differenceWords(data: RunData, reference: RunData): string;
