/** The files that go with the simulated car: its signal file and its set-up, as a person would have written them. Never fails. */
import type { LIST_ROLES, SINGLE_ROLES } from "../setup/roles.ts";
import { BUS_MESSAGES, type BusSignal } from "./car-signals.ts";

type SetUpFileRoles = { readonly [role in keyof typeof SINGLE_ROLES]?: string } & {
  readonly [role in (typeof LIST_ROLES)[number]]?: readonly string[];
};

/** A set-up file's object, before the product checks it. */
export interface SimulatedSetUp {
  readonly car: Readonly<Record<string, string | number>>;
  readonly sources: {
    readonly gnss: { readonly port: string; readonly baud: number };
    readonly can: { readonly port: string; readonly baud: number; readonly bitrate: number; readonly adapterClock: boolean };
  };
  readonly database: string;
  readonly signals: SetUpFileRoles;
}

function signalLine(s: BusSignal): string {
  const branch = s.branch === undefined ? "" : s.branch === "selector" ? " M" : ` m${s.branch}`;
  const low = s.signed ? -(2 ** (s.length - 1)) : 0;
  const [least, most] = [low, low + 2 ** s.length - 1].map((raw) => Number((raw * s.factor + s.offset).toFixed(6)));
  return ` SG_ ${s.name}${branch} : ${s.start}|${s.length}@${s.order === "intel" ? 1 : 0}${s.signed ? "-" : "+"} (${s.factor},${s.offset}) [${least}|${most}] "${s.unit}" Laptop`;
}

/** Identifier as a signal file writes it: bit 31 marks 29 bits. */
const fileId = (id: number, extended: boolean) => (extended ? id + 2 ** 31 : id);

/** Text of `car.dbc`. */
export function carSignalFile(): string {
  const lines = ['VERSION "1"', "", "NS_ :", "", "BS_:", "", "BU_: Inverter Brakes Body Battery Laptop", ""];
  for (const m of BUS_MESSAGES)
    lines.push(`BO_ ${fileId(m.id, m.extended)} ${m.name}: ${m.length} ${m.sender}`, ...m.signals.map(signalLine), "");
  lines.push('CM_ "Signals of the invented Odrel coupe, as its simulation sends them.";');
  for (const m of BUS_MESSAGES) {
    for (const s of m.signals) {
      if (s.labels === undefined) continue;
      lines.push(
        `VAL_ ${fileId(m.id, m.extended)} ${s.name} ${Object.entries(s.labels)
          .map(([raw, text]) => `${raw} "${text}"`)
          .join(" ")} ;`,
      );
    }
  }
  return `${lines.join("\n")}\n`;
}

/**
 * Object of `setup.json`: a tyre marking instead of the true radius, and estimated inertia and drag. Sensors that the plan's car lacks are
 * left out.
 */
export function carSetUp(has: { frontWheelSensors: boolean; rearWheelSensors: boolean; stamps: boolean }): SimulatedSetUp {
  return {
    car: {
      name: "Odrel",
      massKg: 1480,
      drivenAxle: "rear",
      gearRatio: 9.04,
      tyre: "265/35R19",
      wheelbaseM: 2.45,
      cgHeightM: 0.49,
      frontWeightShare: 0.445,
      wheelInertiaKgM2: 5.6,
      dragAreaM2: 0.6,
    },
    sources: {
      gnss: { port: "/dev/ttyUSB0", baud: 115200 },
      can: { port: "/dev/ttyACM0", baud: 115200, bitrate: 500000, adapterClock: has.stamps },
    },
    database: "car.dbc",
    signals: {
      motorSpeed: "MotorState.MotorSpeed",
      torqueRequest: "TorquePath.TorqueRequest",
      torqueCommand: "TorquePath.TorqueCommand",
      torqueDelivered: "MotorState.TorqueDelivered",
      pedal: "DriverInputs.PedalPosition",
      brake: "DriverInputs.BrakeApplied",
      torqueLimit: "TorquePath.TorqueLimit",
      tractionControlEnabled: "TorquePath.TractionControlEnabled",
      tractionControlActive: "TorquePath.TractionControlActive",
      stateOfCharge: "BatteryState.StateOfCharge",
      batteryVoltage: "BatteryState.BatteryVoltage",
      batteryCurrent: "BatteryState.BatteryCurrent",
      motorTemperature: "Temperatures.MotorTemperature",
      inverterTemperature: "Temperatures.InverterTemperature",
      batteryTemperature: "Temperatures.BatteryTemperature",
      ...(has.frontWheelSensors ? { undrivenWheelSpeeds: ["FrontWheels.FrontLeftSpeed", "FrontWheels.FrontRightSpeed"] } : {}),
      ...(has.rearWheelSensors ? { drivenWheelSpeeds: ["RearWheels.RearLeftSpeed", "RearWheels.RearRightSpeed"] } : {}),
    },
  };
}
