/**
 * Answers the requests of the Wiring screen. A signal that the driving contradicts is refused with the reason; problems of a port are
 * named.
 */
import type { AnswersTo, RequestArgument } from "../../../shared/contract/contract.ts";
import { lineOfPort } from "../../../shared/contract/port-line.ts";
import type {
  PortTrouble,
  Refused,
  SourceView,
  WiringAnswers,
  WiringRequestName,
  WiringView,
} from "../../../shared/contract/wiring-contract.ts";
import { checkChoice, findSignals, viewRoles } from "../../../shared/wiring/signal-views.ts";
import { type DraftSetUp, missingOf, missingOfCar } from "../../../shared/setup/draft-set-up.ts";
import { LIST_ROLES, type ListRole } from "../../../shared/setup/roles.ts";
import type { SignalChoice } from "../../../shared/setup/set-up.ts";
import { isSerial, serialPorts, sourceName } from "../../../shared/setup/source-name.ts";
import { nominalRollingRadiusM, parseTyreSize } from "../../../shared/setup/tyre-size.ts";
import type { CarFacts } from "../../../shared/signals/check-role.ts";
import { parseDbc } from "../../../shared/dbc/dbc-file.ts";
import type { SourceReport } from "../../ports/byte-source.ts";
import type { Stream } from "../../ports/book.ts";
import type { HeardPort } from "../../ports/set-up-desk.ts";
import { carAnswers } from "./car-requests.ts";
import { gateAnswers } from "./gate-requests.ts";
import type { WiringDesk } from "./wiring-desk.ts";

const USUAL_BAUD = 115200;
const USUAL_BITRATE = 500_000;
export function factsOf({ car }: DraftSetUp): CarFacts | null {
  const { gearRatio, massKg, rollingRadiusM, tyre } = car;
  if (gearRatio === undefined || massKg === undefined) return null;
  if (rollingRadiusM === undefined && tyre === undefined) return null;
  return { gearRatio, massKg, rollingRadiusM: rollingRadiusM ?? nominalRollingRadiusM(parseTyreSize(tyre ?? "")) };
}

/** On the adapter's port, silence is right until it is opened; NMEA sentences there come from a receiver. */
function asAdapterPort(heard: HeardPort): HeardPort {
  if (heard.receiverBaud !== null) return { ...heard, trouble: "receiverHere" };
  return heard.trouble === "silent" || heard.trouble === "adapterHere" ? { ...heard, trouble: null } : heard;
}

/** The port itself has said that something is wrong, or that it is silent. */
const isTold = (report: SourceReport | undefined) => report !== undefined && report.state !== "fresh" && report.state !== "waiting";

/** A port is listened to for up to four seconds before an adapter is begun, and a receiver may speak once a second. */
const OPENING_NS = 5e9;

function sourceView(desk: WiringDesk, stream: Stream): SourceView | null {
  const source = desk.draft.sources[stream];
  if (source === undefined) return null;
  const nowNs = desk.clock.monotonicNs();
  const health = desk.tap.health(stream, nowNs);
  const report = desk.reports.get(stream);
  const shown = report === undefined || report.state === "fresh" || health.state === "fresh" ? health : report;
  const heard = desk.heard.get(stream);
  const trouble: PortTrouble | null = health.state === "fresh" ? null : (heard?.trouble ?? null);
  return {
    port: sourceName(source),
    other: isSerial(source) ? null : source,
    baud: isSerial(source) ? source.baud : null,
    bitrate: "bitrate" in source ? source.bitrate : null,
    line: isSerial(source) ? (source.line ?? null) : null,
    health: shown,
    onceASecond: stream === "gnss" && shown.state === "fresh" && desk.tap.isOnceASecond(),
    opening: health.state !== "fresh" && health.state !== "wrong" && !isTold(report) && nowNs - desk.openedNs < OPENING_NS,
    trouble,
    words: heard?.words ?? "",
    rightBaud: heard?.receiverBaud ?? null,
  };
}

function read(desk: WiringDesk): WiringView {
  const { draft, tap } = desk;
  const nowNs = desk.clock.monotonicNs();
  const gnss = sourceView(desk, "gnss");
  const can = sourceView(desk, "can");
  return {
    file: desk.store?.file ?? null,
    simulated: desk.store === null,
    missing: missingOf(draft),
    carMissing: missingOfCar(draft),
    signalFiles: tap.database.files.map(({ file, messages }) => ({
      name: file,
      signals: messages.reduce((sum, { signals }) => sum + signals.length, 0),
    })),
    gnss,
    can,
    swapped: can?.trouble === "receiverHere" && gnss !== null && gnss.other === null && gnss.health.state !== "fresh",
    groundSpeedMps: tap.groundSpeedMps(nowNs),
    roles: viewRoles(tap, draft.signals, { facts: factsOf(draft), memory: desk.memory, nowNs }),
  };
}

const isList = (role: string): role is ListRole => (LIST_ROLES as readonly string[]).includes(role);

async function choose(
  desk: WiringDesk,
  { role, choices, anyway }: RequestArgument<"wiring.choose">,
): Promise<WiringAnswers["wiring.choose"]> {
  if (!isList(role) && choices.length > 1) throw new RangeError(`${role} is played by one signal, got ${choices.length}`);
  const facts = factsOf(desk.draft);
  for (const choice of choices) {
    const check = checkChoice(desk.tap, role, choice, facts);
    if (check.verdict !== "refused") continue;
    const mayOverride = check.reason === undefined;
    const refused: Refused = { refused: `${choice.signal}: ${check.why}`, reversed: check.reason === "reversed", mayOverride };
    if (!mayOverride || !anyway) return refused;
  }
  return desk.edit((before) => {
    const { [role]: _, ...others } = before.signals;
    const value: SignalChoice | readonly SignalChoice[] | undefined = isList(role) ? choices : choices[0];
    return { ...before, signals: choices.length === 0 ? others : { ...others, [role]: value } };
  });
}

/** Waits for both, so that no port is still open when one of them failed. */
async function allSettledOrThrow<T>(both: readonly [Promise<T> | null, Promise<T> | null]): Promise<[T | null, T | null]> {
  await Promise.allSettled(both);
  return Promise.all(both);
}

/** Only an adapter's serial port is ever written to. */
export const mustListenFirst = ({ sources: { can } }: DraftSetUp): boolean => can !== undefined && isSerial(can);

/** Names what is wrong with each source's serial port; both must be closed. Any other source is only ever read, and tells itself. */
export async function listenToBoth(desk: WiringDesk): Promise<void> {
  const { gnss, can } = desk.draft.sources;
  desk.heard.clear();
  const receiver = gnss !== undefined && isSerial(gnss) ? gnss : null;
  const adapter = can !== undefined && isSerial(can) && can.port !== receiver?.port ? can : null;
  const [ofReceiver, ofAdapter] = await desk.work("listening", ({ signal, onStep }) => {
    // The progress shown is that of the slower one.
    const shares = new Map<Stream, number>();
    const hear = async (stream: Stream, port: string, baud: number) => {
      const say = (share: number) => {
        shares.set(stream, share);
        onStep(shares.size < 2 ? `Listening on ${port}` : "Listening on both ports", Math.min(...shares.values()));
      };
      const heard = await desk.ears.hear(port, baud, { signal, onStep: (_, share) => say(share) });
      say(1);
      return heard;
    };
    return allSettledOrThrow([
      receiver === null ? null : hear("gnss", receiver.port, receiver.baud),
      adapter === null ? null : hear("can", adapter.port, adapter.baud),
    ]);
  });
  if (ofReceiver !== null) desk.heard.set("gnss", ofReceiver);
  if (ofAdapter !== null) desk.heard.set("can", asAdapterPort(ofAdapter));
}

const lineEntry = (line: "uart" | "usb" | null | undefined) => (line == null ? {} : { line });

async function setSource(
  desk: WiringDesk,
  { stream, port, baud, line: said }: RequestArgument<"wiring.source">,
): Promise<WiringAnswers["wiring.source"]> {
  // Searching all ports may have this one open.
  await desk.cancel("ports");
  return desk.edit(async (before) => {
    desk.heard.delete(stream);
    const { [stream]: old, ...others } = before.sources;
    if (port === null) return { ...before, sources: others };
    const other = before.sources[stream === "gnss" ? "can" : "gnss"];
    if (other !== undefined && isSerial(other) && other.port === port)
      throw new RangeError(`${port} is the ${stream === "gnss" ? "adapter" : "receiver"}\u2019s port already; each needs its own`);
    const heard = await desk.work("listening", (listening) => desk.ears.hear(port, baud, listening));
    desk.heard.set(stream, stream === "can" ? asAdapterPort(heard) : heard);
    const known = said !== undefined ? said : old !== undefined && isSerial(old) && old.port === port ? old.line : lineOfPort(port);
    const line = lineEntry(known);
    if (stream === "gnss")
      return { ...before, sources: { ...others, gnss: { port, baud: baud ?? heard.receiverBaud ?? USUAL_BAUD, ...line } } };
    const { can } = before.sources;
    const { baud: usual = USUAL_BAUD, bitrate = USUAL_BITRATE, adapterClock = true } = can !== undefined && isSerial(can) ? can : {};
    return { ...before, sources: { ...others, can: { port, baud: baud ?? usual, bitrate, adapterClock, ...line } } };
  });
}

/** The source itself is read at once, and says what comes: nothing is written to it, so nobody has to listen first. */
async function setOther(desk: WiringDesk, { source }: RequestArgument<"wiring.other">): Promise<WiringAnswers["wiring.other"]> {
  await desk.cancel("ports");
  return desk.edit((before) => {
    desk.heard.delete("socketcan" in source ? "can" : "gnss");
    return { ...before, sources: { ...before.sources, ...("socketcan" in source ? { can: source } : { gnss: source }) } };
  });
}

function swap(desk: WiringDesk): Promise<WiringAnswers["wiring.swap"]> {
  return desk.edit(async (before) => {
    const { gnss, can } = before.sources;
    if (gnss === undefined || can === undefined || !isSerial(gnss) || !isSerial(can))
      throw new RangeError("Two ports are needed to swap them");
    desk.heard.clear();
    const heard = await desk.work("listening", (listening) => desk.ears.hear(can.port, null, listening));
    desk.heard.set("gnss", heard);
    // The kind of line belongs to the port and is removed with it.
    const { line, ...adapter } = can;
    const receiver = { port: can.port, baud: heard.receiverBaud ?? USUAL_BAUD, ...lineEntry(line) };
    return { ...before, sources: { gnss: receiver, can: { ...adapter, port: gnss.port, ...lineEntry(gnss.line) } } };
  });
}

async function searchBitrate(desk: WiringDesk): Promise<WiringAnswers["wiring.bitrate"]> {
  const source = desk.draft.sources.can;
  if (source === undefined) throw new RangeError("Name the adapter\u2019s port first");
  if (!isSerial(source)) throw new RangeError(`The bit rate of ${source.socketcan} is set by the system (ip link), not by Gripbook`);
  if (desk.heard.get("can")?.trouble === "receiverHere") throw new RangeError(`${source.port} carries a receiver; swap the ports first`);
  if (desk.heard.get("can")?.trouble === "unheard")
    throw new RangeError(`${source.port} was not listened to, so nothing is written there: Check again first`);
  let found: number | null = null;
  const edited = await desk.edit(async (before) => {
    found = await desk.work("bitrate", (listening) => desk.ears.findBitrate(source, listening));
    return found === null ? before : { ...before, sources: { ...before.sources, can: { ...source, bitrate: found } } };
  });
  if (found === null)
    return { bitrate: null, words: "No frames at any bit rate: is the car awake, and the adapter on the bus\u2019s two wires?" };
  return { ...edited, bitrate: found, words: `The bus runs at ${(found as number) / 1000} kbit/s` };
}

function addFile(desk: WiringDesk, { name, text }: RequestArgument<"wiring.file">): Promise<WiringAnswers["wiring.file"]> {
  // Before anything is written: a broken file is refused with the line of the error.
  if (parseDbc(name, text).messages.length === 0) throw new RangeError(`${name}: no message in it; expected a signal file (DBC)`);
  return desk.edit((before) => {
    const added = desk.store?.addSignalFile(name, text) ?? name;
    return before.database.includes(added) ? before : { ...before, database: [...before.database, added] };
  });
}

export const wiringAnswers = (desk: WiringDesk): AnswersTo<WiringRequestName> => ({
  ...carAnswers(desk),
  ...gateAnswers(desk),
  "wiring.read": () => read(desk),
  "wiring.search": ({ role, text }) => findSignals(desk.tap, role, text, factsOf(desk.draft), desk.clock.monotonicNs()),
  "wiring.choose": (asked) => choose(desk, asked),
  "wiring.file": (file) => addFile(desk, file),
  "wiring.ports"({ more }) {
    const held = serialPorts(desk.draft.sources);
    return desk.work("ports", (listening) => desk.ears.list([...new Set([...more, ...held])], held, listening));
  },
  "wiring.source": (asked) => setSource(desk, asked),
  "wiring.other": (asked) => setOther(desk, asked),
  "wiring.swap": () => swap(desk),
  "wiring.bitrate": () => searchBitrate(desk),
  async "wiring.check"() {
    if (desk.store !== null) await desk.whileClosed(() => listenToBoth(desk));
    return read(desk);
  },
  "wiring.own": async () => ({ file: await desk.useOwnCar() }),
  "setup.restore"({ setUp }) {
    desk.heard.clear();
    return desk.edit(() => setUp as unknown as DraftSetUp);
  },
});
