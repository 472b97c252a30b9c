/** The roles a bus signal can play, and the SI unit each is kept in after decoding. */

/** Torque at the motor shaft, driving positive. Speeds of wheels are ground-speed equivalents or rad/s. */
export const SINGLE_ROLES = {
  motorSpeed: "rad/s",
  torqueRequest: "Nm",
  torqueCommand: "Nm",
  torqueDelivered: "Nm",
  pedal: "%",
  stateOfCharge: "%",
  tractionControlEnabled: "",
  tractionControlActive: "",
  brake: "",
  torqueLimit: "Nm",
  batteryVoltage: "V",
  batteryCurrent: "A",
  motorTemperature: "degC",
  inverterTemperature: "degC",
  batteryTemperature: "degC",
  longitudinalAcceleration: "m/s2",
} as const;

/** Lists of sensors: each value is m/s where the signal's unit is a speed, rad/s where it is a spin rate. */
export const LIST_ROLES = ["drivenWheelSpeeds", "undrivenWheelSpeeds"] as const;

export type SingleRole = keyof typeof SINGLE_ROLES;
export type ListRole = (typeof LIST_ROLES)[number];

export const REQUIRED_ROLES = ["motorSpeed", "torqueRequest", "torqueDelivered", "pedal"] as const;
