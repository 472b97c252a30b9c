/** Mistakes in wiring, done to the decoded tracks and the set-up of a right drive, each as a person would make it. */
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import type { RecordingTracks, SignalTrack } from "../../src/shared/signals/tracks.ts";
import type { WiringKind } from "../../src/shared/pipeline/wiring-faults.ts";

export interface Wired {
  readonly tracks: RecordingTracks;
  readonly setUp: SetUp;
}

const times = (track: SignalTrack | undefined, factor: number) => track && { ...track, value: track.value.map((value) => value * factor) };

const withRoles = ({ tracks, setUp }: Wired, roles: Readonly<Record<string, SignalTrack | undefined>>): Wired => ({
  tracks: { ...tracks, roles: { ...tracks.roles, ...roles } as RecordingTracks["roles"] },
  setUp,
});

const geared = ({ tracks, setUp }: Wired, by: number): Wired => ({
  tracks,
  setUp: { ...setUp, car: { ...setUp.car, gearRatio: setUp.car.gearRatio * by } },
});

function received(wired: Wired, byS: number): Wired {
  const { tracks, setUp } = wired;
  const arrivalNs = tracks.epochs.arrivalNs.map((ns) => ns + byS * 1e9);
  return { tracks: { ...tracks, endNs: tracks.endNs + Math.max(0, byS) * 1e9, epochs: { ...tracks.epochs, arrivalNs } }, setUp };
}

/** All of a track's readings up to a share of them. */
function cut(track: SignalTrack | undefined, share: number): SignalTrack | undefined {
  const end = Math.floor((track?.value.length ?? 0) * share);
  return (
    track && {
      ...track,
      arrivalNs: track.arrivalNs.slice(0, end),
      adapterMs: track.adapterMs.slice(0, end),
      clockSegment: track.clockSegment.slice(0, end),
      value: track.value.slice(0, end),
    }
  );
}

export interface Mistake {
  readonly name: string;
  readonly kind: WiringKind;
  readonly make: (right: Wired) => Wired;
}

export const MISTAKES: readonly Mistake[] = [
  {
    name: "asked and delivered swapped",
    kind: "swapped",
    make: (right) =>
      withRoles(right, { torqueRequest: right.tracks.roles.torqueDelivered, torqueDelivered: right.tracks.roles.torqueRequest }),
  },
  {
    name: "delivered torque inverted",
    kind: "reversed",
    make: (right) => withRoles(right, { torqueDelivered: times(right.tracks.roles.torqueDelivered, -1) }),
  },
  {
    name: "asked torque inverted",
    kind: "reversed",
    make: (right) => withRoles(right, { torqueRequest: times(right.tracks.roles.torqueRequest, -1) }),
  },
  {
    name: "delivered torque x10",
    kind: "scale",
    make: (right) => withRoles(right, { torqueDelivered: times(right.tracks.roles.torqueDelivered, 10) }),
  },
  {
    name: "asked torque x10",
    kind: "scale",
    make: (right) => withRoles(right, { torqueRequest: times(right.tracks.roles.torqueRequest, 10) }),
  },
  {
    name: "motor speed inverted",
    kind: "reversed",
    make: (right) => withRoles(right, { motorSpeed: times(right.tracks.roles.motorSpeed, -1) }),
  },
  { name: "gear ratio 5 % over", kind: "ratio", make: (right) => geared(right, 1.05) },
  { name: "gear ratio 5 % under", kind: "ratio", make: (right) => geared(right, 1 / 1.05) },
  { name: "receiver log 20 s late", kind: "shifted", make: (right) => received(right, 20) },
  { name: "receiver log 20 s early", kind: "shifted", make: (right) => received(right, -20) },
  {
    name: "motor frames stop",
    kind: "stopped",
    make: (right) =>
      withRoles(right, {
        motorSpeed: cut(right.tracks.roles.motorSpeed, 0.5),
        torqueDelivered: cut(right.tracks.roles.torqueDelivered, 0.5),
      }),
  },
];
