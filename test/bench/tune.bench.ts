/** A day of twelve launches fitted: car, grip curve and its intervals, in processor time, so that a busy machine counts for nothing. Exits 1 above two seconds. */
import { fitCar } from "../../src/shared/tune/fit-car.ts";
import { gripCurves } from "../../src/shared/tune/grip-curves.ts";
import { slipLaunch, sweep } from "../shared/tune/slip-launch.fixture.ts";

const MOST_MS = 2000;
const formula = { B: 10, C: 1.9, D: 1, E: 0.97 };
const runs = Array.from({ length: 12 }, (_, i) =>
  slipLaunch({ id: i + 1, formula, seconds: 8, noiseMps2: 0.05, slipAt: i % 2 === 0 ? sweep(0.02, 0.4, 8) : sweep(0.35, 0.03, 8) }),
);
const before = process.cpuUsage();
const car = fitCar(runs);
const [curve] = gripCurves(runs, car);
const { user, system } = process.cpuUsage(before);
const ms = (user + system) / 1000;
console.log(
  `tune: twelve launches to car and grip curve: ${ms.toFixed(0)} ms of processor time (promise: at most ${MOST_MS}), best slip ${curve.bestSlip?.value.toFixed(3)}`,
);
process.exitCode = ms > MOST_MS || curve.bestSlip === null ? 1 : 0;
