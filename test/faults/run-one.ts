/** Tries one fault, given by its place in the table, a given number of times, and prints the result as the last line: JSON. */
import { FAULTS } from "./all-faults.ts";
import { dropImportedDay } from "./books.ts";

const fault = FAULTS[Number(process.argv[2])];
if (fault === undefined) throw new RangeError(`Expected a number from 0 to ${FAULTS.length - 1}`);
console.log(JSON.stringify(await fault.run(fault.whole, true)));
await dropImportedDay();
process.exit(0);
