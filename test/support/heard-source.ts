/** Starts the sources of a set-up and keeps what they tell: bytes, words, holes. */
import { createHostClock } from "../../src/main/adapters/host/host-clock.ts";
import { createSources } from "../../src/main/adapters/sources/create-sources.ts";
import type { ByteSource } from "../../src/main/ports/byte-source.ts";
import { checkDraft } from "../../src/shared/setup/check-set-up.ts";

export interface HeardSource {
  text: string;
  /** "state: words", in order. */
  readonly words: string[];
  readonly gaps: { readonly cause: string; readonly over: boolean }[];
  readonly sources: readonly ByteSource[];
  stop(): Promise<void>;
}

/** `sources` as in a set-up file. */
export function hearSources(sources: unknown): HeardSource {
  const draft = checkDraft({ sources }, "set-up");
  const made = createSources(draft, createHostClock());
  const heard: HeardSource = {
    text: "",
    words: [],
    gaps: [],
    sources: made,
    stop: async () => void (await Promise.all(made.map((source) => source.stop()))),
  };
  for (const source of made)
    source.start({
      onBytes(bytes) {
        heard.text += Buffer.from(bytes).toString("latin1");
      },
      onReport: ({ state, words }) => heard.words.push(`${state}: ${words}`),
      onGap: (cause, _fromNs, toNs) => heard.gaps.push({ cause, over: toNs !== null }),
    });
  return heard;
}
