/** The car model against closed forms (kinematics with quadratic drag, wheel loads) and the balance of energy. */
import { expect, test } from "vitest";
import { type CarParameters, drawCar } from "../../../src/shared/simulation/car-parameters.ts";
import { createCarModel } from "../../../src/shared/simulation/car-model.ts";
import { releasedControls } from "../../../src/shared/simulation/controls.ts";
import { createRandom } from "../../../src/shared/simulation/random.ts";

const MPH = 0.44704;
const car = (more: Partial<CarParameters> = {}): CarParameters => ({ ...drawCar(createRandom(1, "car")), slope: 0, ...more });

/** Seconds and metres until `speedMps` under a steady push. */
function push(parameters: CarParameters, newtons: number, speedMps: number): { seconds: number; metres: number } {
  const model = createCarModel(parameters, 0, 0.9);
  const controls = { ...releasedControls(), pushN: newtons };
  for (let ms = 0; ms < 60_000; ms += 1) {
    const before = model.state.speedMps;
    model.step(controls);
    const after = model.state.speedMps;
    if (after >= speedMps) return { seconds: (ms + (speedMps - before) / (after - before)) / 1e3, metres: model.state.distanceM };
  }
  throw new Error(`never reached ${speedMps} m/s`);
}

// What a push must move: the body, and the axle that turns with it.
const inertiaKg = (c: CarParameters) => c.massKg + c.axleInertiaKgM2 / c.rollingRadiusM ** 2;

test("car model, pushed without drag, follows v = a t and x = v^2 / 2a (a = 5: 5.36448 s, 71.944 m to 60 mph)", () => {
  const parameters = car({ dragAreaM2: 0, rollingResistance: 0 });
  const { seconds, metres } = push(parameters, 5 * inertiaKg(parameters), 60 * MPH);
  // The axle lags by the slip that accelerates it: 5 m/s2 x 57 kg over the tyres' stiffness, 0.2 %, of 4 % of the inertia.
  expect(seconds).toBeCloseTo(5.36448, 2);
  expect(Math.abs(seconds / 5.36448 - 1)).toBeLessThan(5e-4);
  expect(Math.abs(metres / 71.944114176 - 1)).toBeLessThan(2e-3);
});

test("car model with quadratic drag follows v = vt tanh(a0 t / vt) (a0 5, vt 60: 60 mph after 5.771938221 s and 80.26182797 m)", () => {
  const bare = car({ rollingResistance: 0 });
  const dragAreaM2 = (2 * 5 * inertiaKg(bare)) / (60 ** 2 * bare.airDensityKgM3);
  const { seconds, metres } = push({ ...bare, dragAreaM2 }, 5 * inertiaKg(bare), 60 * MPH);
  expect(Math.abs(seconds / 5.771938221 - 1)).toBeLessThan(5e-4);
  expect(Math.abs(metres / 80.26182797 - 1)).toBeLessThan(2e-3);
});

test("car model keeps its energy: shaft work = motion + tyre heat + drag, rolling, brakes and slope, spinning wildly or not", () => {
  for (const tractionControl of [true, false]) {
    const parameters = car({ slope: 0.01 });
    const model = createCarModel(parameters, 0, 0.9);
    const s = model.state;
    const controls = { ...releasedControls(), tractionControl };
    for (let ms = 0; ms < 6000; ms += 1) {
      controls.torqueNm = ms < 4000 ? model.availableNm() : -60;
      controls.frontBrakeN = ms < 4000 ? 0 : 3000;
      model.step(controls);
    }
    const motionJ = 0.5 * parameters.massKg * s.speedMps ** 2 + 0.5 * parameters.axleInertiaKgM2 * s.axleRadps ** 2;
    expect(s.tyreHeatJ).toBeGreaterThan(tractionControl ? 1e4 : 1e5);
    expect(Math.abs(s.shaftWorkJ - motionJ - s.tyreHeatJ - s.dissipatedJ) / s.shaftWorkJ).toBeLessThan(0.005);
  }
});

test("car model at the tyres' best accelerates at g c mu / (1 - mu h / L), less drag and rolling resistance", () => {
  const parameters = car({ dragAreaM2: 0, rollingResistance: 0 });
  const model = createCarModel(parameters, 0, 0.9);
  const controls = { ...releasedControls(), tractionControl: false };
  let best = 0;
  for (let ms = 0; ms < 2500; ms += 1) {
    controls.torqueNm = Math.min(model.availableNm(), ms * 0.2);
    model.step(controls);
    best = Math.max(best, model.state.accelerationMps2);
  }
  const mu = 1 - 0.03; // tyres at 20 degC grip 3 % less than at their best
  const limit = (9.80665 * parameters.rearWeightShare * mu) / (1 - (mu * parameters.cgHeightM) / parameters.wheelbaseM);
  expect(Math.abs(best / limit - 1)).toBeLessThan(0.01);
});

test("car model cruising at 80 km/h slips about 0.25 %", () => {
  const parameters = car();
  const model = createCarModel(parameters, 0, 0.9);
  const controls = releasedControls();
  for (let ms = 0; ms < 40_000; ms += 1) {
    controls.torqueNm = 40 * (80 / 3.6 - model.state.speedMps) + 15;
    model.step(controls);
  }
  const slip = (model.state.axleRadps * parameters.rollingRadiusM) / model.state.speedMps - 1;
  expect(model.state.speedMps * 3.6).toBeCloseTo(80, 0);
  expect(slip).toBeGreaterThan(0.0015);
  expect(slip).toBeLessThan(0.0035);
});

test("car model stands exactly still on a slope under its own resistance, and with the brakes held against torque", () => {
  const parameters = car({ slope: 0.005 });
  const model = createCarModel(parameters, 0, 0.9);
  const controls = releasedControls();
  for (let ms = 0; ms < 1000; ms += 1) model.step(controls);
  controls.torqueNm = 80;
  controls.frontBrakeN = 6000;
  controls.rearBrakeN = 13000;
  for (let ms = 0; ms < 1000; ms += 1) model.step(controls);
  expect(model.state.speedMps).toBe(0);
  expect(model.state.distanceM).toBe(0);
  expect(model.state.deliveredNm).toBeGreaterThan(79);
});
