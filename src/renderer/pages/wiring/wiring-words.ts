/** The first sentence of the Wiring screen and the next thing to do, worst finding first. Pure: takes a view, gives words. */
import type { RoleName, RoleView, SourceView, WiringView } from "../../../shared/contract/wiring-contract.ts";

export const ROLE_TITLES: Readonly<Record<RoleName, string>> = {
  motorSpeed: "Motor speed",
  torqueRequest: "Torque asked",
  torqueDelivered: "Torque delivered",
  pedal: "Pedal",
  undrivenWheelSpeeds: "Undriven wheels",
  drivenWheelSpeeds: "Driven wheels",
  tractionControlEnabled: "Control switch",
  tractionControlActive: "Control active",
  stateOfCharge: "Charge",
  torqueCommand: "Torque command",
  torqueLimit: "Torque limit",
  brake: "Brake",
  batteryVoltage: "Battery voltage",
  batteryCurrent: "Battery current",
  motorTemperature: "Motor temperature",
  inverterTemperature: "Inverter temperature",
  batteryTemperature: "Battery temperature",
  longitudinalAcceleration: "Acceleration",
};

/** Useful roles are shown from the start; the others when mapped or asked for. */
export const ROLE_ORDER = Object.keys(ROLE_TITLES) as readonly RoleName[];
export const FIRST_ROLES = 10;
/** Without them a car is measured, and less is known: slip by wheel, the switch, when the control acts, charge. */
const USEFUL_ROLES: ReadonlySet<RoleName> = new Set<RoleName>([
  "undrivenWheelSpeeds",
  "drivenWheelSpeeds",
  "tractionControlEnabled",
  "tractionControlActive",
  "stateOfCharge",
]);

export type Remedy =
  | "look"
  | "own"
  | "file"
  | "ports"
  | "baud"
  | "swap"
  | "adapter"
  | "bitrate"
  | "check"
  | "car"
  | "invert"
  | "pick"
  | "before";

export interface Finding {
  readonly sentence: string;
  readonly second: string;
  readonly remedy: Remedy;
  readonly button: string;
  /** The row with the problem; null where it is not about a row. */
  readonly role: RoleName | null;
}

const found = (sentence: string, second: string, remedy: Remedy, button: string, role: RoleName | null = null): Finding => ({
  sentence,
  second,
  remedy,
  button,
  role,
});

const list = (words: readonly string[]) => (words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`);

/** A receiver that is no serial port: it has no baud, and is only ever read. */
function ofNetwork({ port, health, opening }: SourceView): Finding {
  if (opening) return found("The receiver is being connected.", `${port}: its data are here in some seconds.`, "look", "Look again");
  if (health.state === "wrong" && /no fix/.test(health.words))
    return found("The receiver has no fix yet.", health.words, "check", "Check again");
  if (health.state === "wrong") return found("The receiver\u2019s data make no sense.", health.words, "ports", "Choose the receiver");
  if (health.state === "absent") return found("The receiver is not reached.", health.words, "ports", "Choose the receiver");
  return found("The receiver says nothing.", `${port}: ${health.words}`, "check", "Check again");
}

const opening = (whose: string, { port }: SourceView) =>
  found(
    `The ${whose}\u2019s port is being opened.`,
    `${port} is listened to first; its bytes are here in some seconds.`,
    "look",
    "Look again",
  );

function ofReceiver(receiver: SourceView): Finding | null {
  const { port, baud, trouble, health, words, rightBaud } = receiver;
  if (health.state === "fresh") return null;
  if (receiver.other !== null) return ofNetwork(receiver);
  if (trouble === "silent")
    return found(
      "The receiver\u2019s port is silent.",
      `No byte came from ${port}. Is the receiver powered, and is this its port?`,
      "ports",
      "Find ports",
    );
  if (trouble === "wrongBaud")
    return found(
      "The receiver\u2019s baud is wrong.",
      `${port} talks at ${rightBaud} baud, the set-up says ${baud}.`,
      "baud",
      `Use ${rightBaud} baud`,
    );
  if (trouble === "garbage")
    return found("The receiver\u2019s bytes make no sense.", `${port}: ${words}. Is another device on this port?`, "ports", "Find ports");
  if (trouble === "adapterHere")
    return found("The adapter is on the receiver\u2019s port.", `${port} carries ${words}.`, "swap", "Swap the ports");
  if (trouble === "trouble") return found("The receiver\u2019s port does not open.", words, "ports", "Find ports");
  if (receiver.opening) return opening("receiver", receiver);
  if (health.state === "wrong" && /no fix/.test(health.words))
    return found("The receiver has no fix yet.", health.words, "check", "Check again");
  if (health.state === "wrong") return found("The receiver\u2019s bytes make no sense.", health.words, "baud", "Find the baud");
  if (health.state === "absent") return found("The receiver\u2019s port does not open.", health.words, "ports", "Find ports");
  return found("The receiver says nothing.", `${port}: ${health.words}`, "check", "Check again");
}

/** A CAN interface of the system: its bit rate and its modes are set there. */
function ofInterface({ port, health, opening }: SourceView): Finding {
  if (opening) return found("The CAN interface is being opened.", `${port}: its frames are here in some seconds.`, "look", "Look again");
  if (health.state === "wrong" || health.state === "absent")
    return found("The CAN interface cannot be read.", health.words, "adapter", "Choose the adapter");
  return found(
    "The bus is silent.",
    `${port} is open, and no frame comes. Is the car awake, and the bit rate right?`,
    "check",
    "Check again",
  );
}

function ofAdapter(adapter: SourceView): Finding | null {
  const { port, trouble, health, words } = adapter;
  if (health.state === "fresh") return null;
  if (trouble === "receiverHere")
    return found(
      "A receiver is on the adapter\u2019s port.",
      `${port} carries ${words}. It was not opened as an adapter.`,
      "adapter",
      "Find the adapter",
    );
  if (trouble === "unheard")
    return found(
      "The adapter\u2019s port was not listened to.",
      `${port}: ${words}, so it was not opened. Nothing is written to a port before it is known what talks there.`,
      "check",
      "Check again",
    );
  if (trouble === "trouble") return found("The adapter\u2019s port does not open.", words, "adapter", "Find the adapter");
  if (trouble === "garbage") return found("The adapter\u2019s bytes make no sense.", `${port}: ${words}`, "adapter", "Find the adapter");
  if (adapter.other !== null) return ofInterface(adapter);
  if (adapter.opening) return opening("adapter", adapter);
  if (health.state === "wrong" || health.state === "absent")
    return found("The adapter does not answer.", health.words, "adapter", "Find the adapter");
  return found(
    "The bus is silent.",
    `${port} listens, and no frame comes. Is the car awake, and the bit rate right?`,
    "bitrate",
    "Find bit rate",
  );
}

function ofSignals(view: WiringView): Finding | null {
  const titled = (role: RoleView) => ROLE_TITLES[role.role];
  for (const role of view.roles) {
    const wrong = role.signals.find(({ check }) => check.mark === "triangle");
    if (wrong === undefined) continue;
    const { reversed, why } = wrong.check;
    if (reversed)
      return found(
        `${titled(role)} is reversed.`,
        `${wrong.signal}: ${why}. Invert it, or pick another signal.`,
        "invert",
        `Invert ${titled(role).toLowerCase()}`,
        role.role,
      );
    return found(`${titled(role)} disagrees.`, `${wrong.signal}: ${why}.`, "pick", "Pick a signal", role.role);
  }
  const unmapped = view.roles.find((role) => role.needed && role.signals.length === 0);
  if (unmapped !== undefined)
    return found(
      `${titled(unmapped)} has no signal yet.`,
      "Suggestions come first; drive briefly to make them reliable.",
      "pick",
      "Pick a signal",
      unmapped.role,
    );
  return null;
}

/** The worst finding. */
export function findingOf(view: WiringView): Finding {
  if (view.simulated)
    return found(
      "The simulated car is wired.",
      "Its receiver, its bus and its signals are made up; with your own car each is found here.",
      "own",
      "Use my own car",
    );
  if (view.missing === "signal file")
    return found(
      "First, the car\u2019s signal file.",
      "A DBC file says which bits on the bus are which signal. It is copied beside the set-up.",
      "file",
      "Add a signal file",
    );
  if (view.gnss === null)
    return found("Where is the receiver?", "Plug it in. Gripbook listens on every port and says what talks.", "ports", "Find ports");
  if (view.swapped)
    return found(
      "The two ports are swapped.",
      `The receiver talks on ${view.can?.port}, which the set-up gives to the adapter.`,
      "swap",
      "Swap the ports",
    );
  const receiver = ofReceiver(view.gnss);
  if (receiver !== null) return receiver;
  if (view.can === null)
    return found(
      "The receiver talks. Where is the adapter?",
      "Plug it in with the car off, its terminator switched off. It says nothing until it is opened.",
      "adapter",
      "Find the adapter",
    );
  const adapter = ofAdapter(view.can);
  if (adapter !== null) return adapter;
  if (view.missing === "car")
    return found(
      "Both sources talk. The car is not known yet.",
      `Missing: ${list(view.carMissing)}. Signals are checked against them.`,
      "car",
      "Go to Car",
    );
  const signals = ofSignals(view);
  if (signals !== null) return { ...signals, sentence: `Both sources talk. ${signals.sentence}` };
  const titles = (roles: readonly RoleView[]) => roles.map((role) => ROLE_TITLES[role.role].toLowerCase());
  const isWaiting = (role: RoleView) => role.signals.some(({ check }) => check.mark !== "tick");
  const waiting = titles(view.roles.filter((role) => role.needed && isWaiting(role)));
  if (waiting.length > 0)
    return found(
      "Both sources talk. A short drive checks the rest.",
      `Not seen at work yet: ${list(waiting)}.`,
      "before",
      "Before driving",
    );
  const others = titles(view.roles.filter((role) => !role.needed && isWaiting(role)));
  const unchosen = titles(view.roles.filter(({ role, signals }) => USEFUL_ROLES.has(role) && signals.length === 0));
  const left = [
    ...(others.length === 0 ? [] : [`Not seen at work yet: ${list(others)}.`]),
    ...(unchosen.length === 0 ? [] : [`Not chosen, and useful where the bus has them: ${list(unchosen)}.`]),
  ];
  return left.length === 0
    ? found("Both sources talk, every signal agrees.", "Nothing is left to do here.", "before", "Before driving")
    : found("Both sources talk, every needed signal agrees.", left.join(" "), "before", "Before driving");
}
