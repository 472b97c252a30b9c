/**
 * The part of a set-up that says where bytes come from. Which kind of source is meant is told by its key, so that an error is about that
 * kind; without any such key a serial port is meant.
 */
import * as v from "valibot";
import { whole } from "./plain-values.ts";
import { GPSD_PORT, isInterfaceName, readEndpoint } from "./source-name.ts";

/** Bit rates that SLCAN's S0 to S8 can set. */
export const BUS_BITRATES = [10_000, 20_000, 50_000, 100_000, 125_000, 250_000, 500_000, 800_000, 1_000_000];

const port = v.pipe(v.string(), v.minLength(1, "expected a port such as /dev/ttyACM0 or COM3, got an empty text"));
const line = v.optional(
  v.picklist(
    ["uart", "usb"],
    (issue) => `expected "uart" (a serial line, behind a USB bridge or not) or "usb" (native), got ${issue.received}`,
  ),
);
const baud = whole(300, 12_000_000, "bits a second");

/** A text for which `holds` is true. */
const named = (holds: (value: string) => boolean, refused: (received: string) => string) =>
  v.pipe(
    v.string(({ received }) => refused(received)),
    v.check(holds, ({ received }) => refused(received)),
  );

const serialReceiver = v.strictObject({ port, baud, line });
const slcanAdapter = v.strictObject({
  port,
  baud,
  line,
  bitrate: v.picklist(BUS_BITRATES, (issue) => `expected one of ${BUS_BITRATES.join(", ")} bit/s, got ${issue.received}`),
  adapterClock: v.optional(v.boolean(), true),
});

const gpsdSource = v.strictObject({
  gpsd: named(
    (value) => readEndpoint(value, GPSD_PORT) !== null,
    (received) => `expected gpsd's address such as "localhost" or "192.168.1.5:2947", got ${received}`,
  ),
});
const tcpSource = v.strictObject({
  tcp: named(
    (value) => readEndpoint(value, null) !== null,
    (received) => `expected an address and its port such as "192.168.1.5:10110", got ${received}`,
  ),
});
const IPV4 = /^(25[0-5]|2[0-4]\d|1?\d?\d)(\.(25[0-5]|2[0-4]\d|1?\d?\d)){3}$/;
const toldSender = ({ received }: { readonly received: string }) =>
  `expected the sender's IPv4 address such as "192.168.1.7", got ${received}`;
const udpSource = v.strictObject({
  udp: whole(1, 65_535, "a UDP port"),
  from: v.optional(v.pipe(v.string(toldSender), v.regex(IPV4, toldSender))),
});

const socketCan = v.strictObject({
  socketcan: named(
    isInterfaceName,
    (received) => `expected a CAN interface such as "can0" (letters, digits, . _ -; at most 15), got ${received}`,
  ),
});

/** The schema that the keys of `input` ask for; the first kind where none does. `kinds` stays with it for whoever describes the schema. */
const byKey = <S extends v.GenericSchema>(kinds: readonly (readonly [string, S])[]) =>
  Object.assign(
    v.lazy((input: unknown): S => {
      const has = (key: string) => typeof input === "object" && input !== null && Object.hasOwn(input, key);
      return ((kinds.find(([key]) => has(key)) ?? kinds[0]) as readonly [string, S])[1];
    }),
    { kinds: kinds.map(([, kind]) => kind) },
  );

/** A source that is no serial port: a receiver over a network, or a CAN interface. */
export const otherSource = byKey<typeof gpsdSource | typeof tcpSource | typeof udpSource | typeof socketCan>([
  ["gpsd", gpsdSource],
  ["tcp", tcpSource],
  ["udp", udpSource],
  ["socketcan", socketCan],
]);

export const sources = v.strictObject({
  gnss: v.optional(
    byKey<typeof serialReceiver | typeof gpsdSource | typeof tcpSource | typeof udpSource>([
      ["port", serialReceiver],
      ["gpsd", gpsdSource],
      ["tcp", tcpSource],
      ["udp", udpSource],
    ]),
  ),
  can: v.optional(
    byKey<typeof slcanAdapter | typeof socketCan>([
      ["port", slcanAdapter],
      ["socketcan", socketCan],
    ]),
  ),
});
