/** Property tests draw the same cases in every run, so that a change fails by what it changed. `GRIPBOOK_SEED=5 npm test` draws others. */
import fc from "fast-check";

fc.configureGlobal({ seed: Number(process.env.GRIPBOOK_SEED ?? 20_311_105) });
