/** The part of a recording's tracks from one instant on, as views without copying; the clock observations stay whole. */
import type { TimeNs } from "../kernel/time.ts";
import type { RecordingTracks, RoleTracks, SignalTrack } from "../signals/tracks.ts";

export function sliceTracks(tracks: RecordingTracks, fromNs: TimeNs): RecordingTracks {
  const roles = Object.fromEntries(
    Object.entries(tracks.roles).map(([role, track]) => [
      role,
      Array.isArray(track) ? track.map((one) => sliceSignal(one, fromNs)) : sliceSignal(track, fromNs),
    ]),
  ) as RoleTracks;
  const { epochs } = tracks;
  const from = firstFrom(epochs.arrivalNs, fromNs);
  const cut = (column: Float64Array) => column.subarray(from);
  return {
    ...tracks,
    roles,
    epochs: {
      arrivalNs: cut(epochs.arrivalNs),
      burstBytes: cut(epochs.burstBytes),
      utcMs: cut(epochs.utcMs),
      dated: epochs.dated,
      speedMps: cut(epochs.speedMps),
      speedQuantumMps: cut(epochs.speedQuantumMps),
      courseDeg: cut(epochs.courseDeg),
      latDeg: cut(epochs.latDeg),
      lonDeg: cut(epochs.lonDeg),
      altM: cut(epochs.altM),
      hdop: cut(epochs.hdop),
      satellites: cut(epochs.satellites),
      fix: epochs.fix.slice(from),
    },
  };
}

function sliceSignal(track: SignalTrack, fromNs: TimeNs): SignalTrack {
  const from = firstFrom(track.arrivalNs, fromNs);
  return {
    ...track,
    arrivalNs: track.arrivalNs.subarray(from),
    adapterMs: track.adapterMs.subarray(from),
    clockSegment: track.clockSegment.subarray(from),
    value: track.value.subarray(from),
  };
}

/** First index at or after `fromNs`; arrivals never fall. */
function firstFrom(arrivalNs: Float64Array, fromNs: TimeNs): number {
  let low = 0;
  let high = arrivalNs.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (arrivalNs[middle] < fromNs) low = middle + 1;
    else high = middle;
  }
  return low;
}
