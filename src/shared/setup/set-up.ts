/** The set-up file's shape after checking (see check-set-up.ts). Lengths m, mass kg, speeds as named. */
import type { ListRole, SingleRole } from "./roles.ts";

/** One bus signal bound to a role; `signal` is "Message.Signal". */
export interface SignalChoice {
  readonly signal: string;
  readonly invert: boolean;
}

export interface CarSetUp {
  readonly name: string;
  readonly massKg: number;
  readonly drivenAxle: "rear" | "front";
  /** Motor turns per turn of the driven wheel. */
  readonly gearRatio: number;
  /** Size marking such as "265/35R19". */
  readonly tyre?: string;
  readonly rollingRadiusM?: number;
  readonly wheelbaseM?: number;
  readonly cgHeightM?: number;
  readonly frontWeightShare?: number;
  /** Whole driven axle with the rotor, referred to the wheel. */
  readonly wheelInertiaKgM2?: number;
  readonly dragAreaM2?: number;
}

/** A serial port, directly or over USB. */
export interface SerialPortSource {
  readonly port: string;
  readonly baud: number;
  /**
   * "uart": each byte takes ten bits at this baud, and that time is subtracted from arrival times. "usb" or absent: nothing is subtracted.
   */
  readonly line?: "uart" | "usb";
}

/** The receiver of a gpsd at "address" or "address:port". */
export interface GpsdSource {
  readonly gpsd: string;
}

/** A receiver's own server, "address:port", read over TCP. */
export interface TcpSource {
  readonly tcp: string;
}

/** A UDP port of this computer that a receiver or a phone sends to; `from`: the only address that is heard. */
export interface UdpSource {
  readonly udp: number;
  readonly from?: string | undefined;
}

type NetworkSource = GpsdSource | TcpSource | UdpSource;
export type GnssSource = SerialPortSource | NetworkSource;

/** A CAN adapter that speaks SLCAN, on a serial port. */
export interface SlcanSource extends SerialPortSource {
  /** Bits a second on the bus. */
  readonly bitrate: number;
  /** True where the adapter should send stamps of its own and they are used. */
  readonly adapterClock: boolean;
}

/** A CAN interface of Linux, such as can0. Its bit rate is the system's. */
export interface SocketCanSource {
  readonly socketcan: string;
}

export type CanSource = SlcanSource | SocketCanSource;

/** Every kind but a serial port. */
export type OtherSource = NetworkSource | SocketCanSource;

export type RoleChoices = { readonly [role in SingleRole]?: SignalChoice } & {
  readonly [role in ListRole]?: readonly SignalChoice[];
};

export interface SetUp {
  readonly car: CarSetUp;
  readonly sources: { readonly gnss?: GnssSource; readonly can?: CanSource };
  /** Signal files, as written in the set-up (relative to it). */
  readonly database: readonly string[];
  readonly signals: RoleChoices;
}
