/** What people are told of a receiver on a network: one line each that names its address and the remedy. Pure; never fails. */
import { wordsOf } from "../../../shared/kernel/words-of.ts";
import type { SourceWords } from "../sources/reopening-source.ts";

/** `name` as people read it ("TCP 192.168.1.5:10110"), `place` says where it is set. */
export interface NetworkName {
  readonly name: string;
  readonly place: string;
}

function troubleOf({ name, place }: NetworkName, error: unknown): string {
  const why = wordsOf(error);
  if (/ECONNREFUSED/.test(why))
    return `nothing answers at ${name}: start what sends there, or correct ${place} in the set-up; it is tried again`;
  if (/ENOTFOUND|EAI_AGAIN/.test(why))
    return `${name}: this name is not known here: correct ${place} in the set-up, or give the address in digits`;
  if (/ETIMEDOUT|EHOSTUNREACH|ENETUNREACH|EHOSTDOWN/.test(why))
    return `no answer from ${name}: are both in the same network? Else correct ${place} in the set-up; it is tried again`;
  if (/EADDRINUSE/.test(why)) return `${name} is held by another program: close that program, it is tried again; or choose another port`;
  if (/EACCES|EPERM/.test(why)) return `${name}: this user may not use that port: choose one above 1023 as ${place} in the set-up`;
  return `${name} failed (${why}): it is tried again; else correct ${place} in the set-up`;
}

/** `opened`: what was reached, in one clause. */
export const networkWords = (name: NetworkName, opened: string): SourceWords => ({
  opened: `Receiver: ${opened}, no bytes yet`,
  garbage: `Receiver on ${name.name}: bytes come, no valid NMEA sentence among them: is this the receiver\u2019s NMEA 0183 output? Else correct ${name.place} in the set-up`,
  gone: (why) => `Receiver: ${name.name} is gone (${why}): it is opened again by itself`,
  trouble: (error) => `Receiver: ${troubleOf(name, error)}`,
});
