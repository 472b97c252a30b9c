/**
 * Answers the requests of the Car screen: the car's figures, what is known about each, and the guided calibration. A figure out of range is
 * refused by name.
 */
import type { Calibration } from "../../../shared/align/calibration.ts";
import { stalenessOf, type TyreNotes } from "../../../shared/align/calibration-progress.ts";
import { nominalCalibration } from "../../../shared/align/nominal-calibration.ts";
import type { AnswersTo, RequestArgument, RequestName } from "../../../shared/contract/contract.ts";
import type { CarView } from "../../../shared/contract/wiring-contract.ts";
import { missingOfCar } from "../../../shared/setup/draft-set-up.ts";
import { marked } from "../../../shared/kernel/shown-units.ts";
import { knownCalibration } from "../basics/known-calibration.ts";
import type { WiringDesk } from "./wiring-desk.ts";

const TYRES_NOW = "tyres";
const TYRES_OF = "calibration-tyres";
const UNNOTED: TyreNotes = { tyres: null, pressureKpa: null };

interface Known {
  readonly id: number | null;
  readonly calibration: Calibration;
  readonly recordedAt: string | null;
}

/** The calibration of this set-up's newest recording; otherwise what the set-up alone says. */
function knownOf({ book, ready }: WiringDesk): Known | null {
  if (ready === null) return null;
  const stored = knownCalibration(book, ready.stored.text);
  if (stored !== null) {
    const recordedAt = new Date(book.recording(stored.recording).baseUtcUs / 1000).toISOString();
    return { id: stored.id, calibration: stored.calibration, recordedAt };
  }
  return { id: null, calibration: nominalCalibration(ready.setUp), recordedAt: null };
}

function read(desk: WiringDesk): CarView {
  const { book, draft } = desk;
  const known = knownOf(desk);
  const guided = desk.guided.state();
  const tyres = (book.setting(TYRES_NOW) ?? UNNOTED) as TyreNotes;
  const ofCalibration = ((book.setting(TYRES_OF) ?? {}) as Record<string, TyreNotes>)[String(known?.id)] ?? UNNOTED;
  // What this recording has fitted is what its times and the list before driving stand on.
  const fitted = known === null ? null : desk.fitted;
  const shown = fitted ?? (known === null ? null : known.calibration);
  const radius = shown?.rollingRadiusM ?? null;
  return {
    draft: draft.car,
    missing: missingOfCar(draft),
    simulated: desk.store === null,
    calibration:
      known === null || shown === null
        ? null
        : {
            id: fitted === null ? known.id : null,
            fittedHere: fitted !== null,
            rollingRadiusM: shown.rollingRadiusM,
            gnssDelayS: shown.gnssDelayS,
            slipPerNm: shown.slipPerNm,
            notes: shown.notes.map(marked),
            recordedAt: fitted === null ? known.recordedAt : null,
            tyres: fitted === null ? ofCalibration : tyres,
          },
    slipShare: radius === null ? null : radius.plusMinus95 / radius.value,
    stale:
      known === null
        ? []
        : stalenessOf({ stored: known.calibration, now: guided?.calibration ?? null, storedTyres: ofCalibration, tyresNow: tyres }),
    tyres,
    guided:
      guided === null
        ? null
        : {
            ...guided.progress,
            radiusM: guided.calibration.rollingRadiusM.value,
            delayS: guided.calibration.gnssDelayS.value,
            seconds: guided.seconds,
          },
  };
}

async function calibrateStep(desk: WiringDesk, { step }: RequestArgument<"car.calibrate">): Promise<CarView> {
  if (step === "leave") desk.guided.end();
  else if (step === "begin") {
    if (desk.ready === null) throw new RangeError("Nothing to calibrate yet: Wiring says what is missing");
    desk.guided.begin(desk.ready);
  } else {
    const guided = desk.guided.state();
    if (guided === null || guided.calibration.rollingRadiusM.from !== "calibrated")
      throw new RangeError(`The drive so far does not calibrate the car: ${marked(guided?.calibration.notes[0] ?? "nothing was driven")}`);
    desk.guided.end();
    // Closing the recording fits a calibration to all of it and stores that with a number; the next recording starts from it.
    await desk.whileClosed(async () => undefined);
    const known = knownOf(desk);
    if (known !== null && known.id !== null) {
      const kept = (desk.book.setting(TYRES_OF) ?? {}) as Record<string, TyreNotes>;
      desk.book.setSetting(TYRES_OF, { ...kept, [known.id]: desk.book.setting(TYRES_NOW) ?? UNNOTED }, desk.clock.utcUs());
    }
  }
  return read(desk);
}

export const carAnswers = (desk: WiringDesk): AnswersTo<Extract<RequestName, `car.${string}`>> => ({
  "car.read": () => read(desk),
  "car.save": ({ set }) =>
    desk.edit((before) => {
      const car = Object.fromEntries(Object.entries({ ...before.car, ...set }).filter(([, value]) => value !== null));
      return { ...before, car };
    }),
  "car.calibrate": (asked) => calibrateStep(desk, asked),
  "car.tyres"(notes) {
    desk.book.setSetting(TYRES_NOW, notes, desk.clock.utcUs());
    return read(desk);
  },
});
