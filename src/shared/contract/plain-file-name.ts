/** A file name from a page: it must be allowed in any folder, whoever made it up. Anything else is refused with what is expected. */
import * as v from "valibot";
import { isPlainFileName, PLAIN_FILE_NAME } from "../kernel/file-name.ts";

export const plainFileName = v.pipe(v.string(), v.check(isPlainFileName, `expected ${PLAIN_FILE_NAME}`));
