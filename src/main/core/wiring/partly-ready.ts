/** What a core is made of while its set-up lacks something: the car as far as it is known, no source and no signal. It records nothing. */
import type { DraftSetUp } from "../../../shared/setup/draft-set-up.ts";
import type { SetUp } from "../../../shared/setup/set-up.ts";
import type { ReadySetUp } from "../basics/read-set-up.ts";

export const PARTLY: SetUp = {
  car: { name: "new car", massKg: Number.NaN, drivenAxle: "rear", gearRatio: Number.NaN },
  sources: {},
  database: [],
  signals: {},
};

export const partlyReady = (draft: DraftSetUp): ReadySetUp => ({
  stored: { text: JSON.stringify(draft), signalFiles: [] },
  setUp: { ...PARTLY, car: { ...PARTLY.car, ...draft.car } },
  databases: [],
});
