/** A receiver's kind of fix in words, for people. */
import type { Fix } from "../signals/tracks.ts";

const WORDS: Readonly<Record<Fix, string>> = {
  none: "no fix",
  "2d": "2D fix",
  "3d": "3D fix",
  differential: "differential fix",
  rtkFloat: "RTK float fix",
  rtkFixed: "RTK fix",
  estimated: "estimated, no fix",
};

export const fixWords = (fix: Fix): string => WORDS[fix];
