/** Sends what the car's control units report on the bus, message by message, at their times. Never fails. */
import { KMH_PER_MPS, RADPS_PER_RPM } from "../kernel/units.ts";
import type { Adapter } from "./adapter.ts";
import type { CarState } from "./car-model.ts";
import type { CarParameters } from "./car-parameters.ts";
import { BUS_MESSAGES, putSignal } from "./car-signals.ts";
import type { Controls } from "./controls.ts";
import type { SimulatedPacket } from "./packets.ts";
import type { BusPlan } from "./plan.ts";

export interface Bus {
  /** Once a millisecond, after the car's step. */
  step(tMs: number, car: CarState, controls: Controls, out: SimulatedPacket[]): void;
}

// An open differential never shares a spin evenly: this share of slip speed more on the left, less on the right.
const DIFFERENTIAL_SHARE = 0.07;
// Linear slip stiffness of the front tyres, equal to that of the driven ones on a dry road (B C D of the curve).
const FRONT_STIFFNESS = 19;
const FRONT_LOAD_N = 7000;
const CELL_RESISTANCE_OHM = 0.06;

export function createBus({ car, plan, adapter }: { car: CarParameters; plan: BusPlan; adapter: Adapter }): Bus {
  const frames = BUS_MESSAGES.filter(
    (m) => (m.name !== "FrontWheels" || plan.frontWheelSensors) && (m.name !== "RearWheels" || plan.rearWheelSensors),
  );
  const buffers = frames.map((message) => new Uint8Array(message.length));
  const counts = new Map<string, number>();
  const thresholdMps = plan.thresholdKmh / KMH_PER_MPS;
  const sensor = (mps: number, index: 0 | 1 | 2 | 3) => {
    const reading = Math.abs(mps) * car.wheelSensorScale[index];
    return reading < thresholdMps ? 0 : reading * KMH_PER_MPS;
  };

  function wheel(name: string, s: CarState, controls: Controls): number {
    const sideMps = (controls.yawRateRadps * car.trackM) / 2;
    if (name.startsWith("Front")) {
      const slip = Math.min(0.3, controls.frontBrakeN / (FRONT_STIFFNESS * FRONT_LOAD_N));
      const frontMps = Math.hypot(s.speedMps, controls.yawRateRadps * car.wheelbaseM) * (1 - slip);
      return name === "FrontLeftSpeed" ? sensor(frontMps + sideMps, 0) : sensor(frontMps - sideMps, 1);
    }
    const wheelMps = s.axleRadps * car.rollingRadiusM;
    const splitMps = sideMps + DIFFERENTIAL_SHARE * (wheelMps - s.speedMps);
    return name === "RearLeftSpeed" ? sensor(wheelMps + splitMps, 2) : sensor(wheelMps - splitMps, 3);
  }

  function value(name: string, s: CarState, controls: Controls, branch: number): number {
    switch (name) {
      case "PedalPosition":
        return controls.pedalPercent;
      case "BrakeApplied":
        return controls.frontBrakeN + controls.rearBrakeN > 60 ? 1 : 0;
      case "MotorSpeed":
        return (s.axleRadps * car.gearRatio) / RADPS_PER_RPM;
      case "TorqueDelivered":
        return s.deliveredNm * car.torqueReportScale;
      case "TorqueRequest":
        return s.requestNm;
      case "TorqueCommand":
        return s.commandNm;
      case "TorqueLimit":
        return s.availableNm;
      case "TractionControlEnabled":
        return controls.tractionControl ? 1 : 0;
      case "TractionControlActive":
        return s.tractionControlActive ? 1 : 0;
      case "BatteryVoltage":
        return openVolts(s) - current(s) * CELL_RESISTANCE_OHM;
      case "BatteryCurrent":
        return current(s);
      case "StateOfCharge":
        return (100 * s.batteryJ) / car.batteryJ;
      case "TemperatureOf":
        return branch;
      case "MotorTemperature":
        return s.motorDegC;
      case "InverterTemperature":
        return s.inverterDegC;
      case "BatteryTemperature":
        return s.batteryDegC;
      case "InputCounter":
      case "MotorCounter": {
        const count = ((counts.get(name) ?? -1) + 1) % 16;
        counts.set(name, count);
        return count;
      }
      default:
        return wheel(name, s, controls);
    }
  }

  return {
    step(tMs, s, controls, out) {
      for (let i = 0; i < frames.length; i += 1) {
        const message = frames[i] as (typeof frames)[number];
        if (tMs % message.periodMs !== message.phaseMs) continue;
        const data = buffers[i] as Uint8Array;
        data.fill(0);
        const branch = Math.floor(tMs / message.periodMs) % 3;
        for (const signal of message.signals) {
          if (typeof signal.branch === "number" && signal.branch !== branch) continue;
          putSignal(signal, value(signal.name, s, controls, branch), data);
        }
        adapter.frame(message.id, message.extended, data, tMs / 1e3, out);
      }
      adapter.flush(tMs / 1e3, out);
    },
  };

  function openVolts(s: CarState): number {
    return 340 + (62 * s.batteryJ) / car.batteryJ;
  }

  // Solves P = (U - I R) I; the smaller root.
  function current(s: CarState): number {
    const volts = openVolts(s);
    return (volts - Math.sqrt(Math.max(0, volts * volts - 4 * CELL_RESISTANCE_OHM * s.batteryW))) / (2 * CELL_RESISTANCE_OHM);
  }
}
