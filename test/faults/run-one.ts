/** Tries one fault, named by its place in the table, as often as it says, and prints what came of it as the last line: JSON. */
import { FAULTS } from "./all-faults.ts";

const fault = FAULTS[Number(process.argv[2])];
if (fault === undefined) throw new RangeError(`Expected a number from 0 to ${FAULTS.length - 1}`);
console.log(JSON.stringify(await fault.run(fault.whole, true)));
process.exit(0);
