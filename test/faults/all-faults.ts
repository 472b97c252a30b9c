/** Every fault that is tried, in the table's order. */
import { books } from "./books.ts";
import { captures } from "./captures.ts";
import { clocks } from "./clocks.ts";
import type { Fault } from "./fault.ts";
import { fullDrives } from "./full-drives.ts";
import { kills } from "./kills.ts";
import { pages } from "./pages.ts";
import { powerCuts } from "./power-cuts.ts";

export const FAULTS: readonly Fault[] = [...kills, ...powerCuts, ...captures, ...fullDrives, ...clocks, ...pages, ...books];
