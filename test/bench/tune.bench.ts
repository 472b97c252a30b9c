/** A day of twelve launches fitted: car, grip curve and its intervals, in processor time, so that a busy machine counts for nothing. Gate: two seconds. */
import { fitCar } from "../../src/shared/tune/fit-car.ts";
import { gripCurves } from "../../src/shared/tune/grip-curves.ts";
import { processorMs, tellBench } from "./tell-bench.ts";
import { slipLaunch, sweep } from "../shared/tune/slip-launch.fixture.ts";

const MOST_MS = 2000;
const formula = { B: 10, C: 1.9, D: 1, E: 0.97 };
const runs = Array.from({ length: 12 }, (_, i) =>
  slipLaunch({ id: i + 1, formula, seconds: 8, noiseMps2: 0.05, slipAt: i % 2 === 0 ? sweep(0.02, 0.4, 8) : sweep(0.35, 0.03, 8) }),
);
const before = processorMs();
const car = fitCar(runs);
const [curve] = gripCurves(runs, car);
const took = processorMs() - before;
if (curve.bestSlip === null) throw new Error("No best slip was found");
const tall = new Float64Array(1e6).map((_, i) => Math.sin(i));
const sorting = processorMs();
tall.sort();
tellBench("tune").figure({
  name: "fitted",
  what: "twelve launches to car and grip curve",
  value: took,
  unit: "ms of processor time",
  reference: { name: "a million numbers sorted", value: processorMs() - sorting },
  gate: { of: "value", is: "at most", limit: MOST_MS },
});
