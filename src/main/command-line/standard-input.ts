/**
 * Reads standard input in chunks, and writes standard output in large ones that wait while the reader is slow. When the reader closes, the
 * process ends (gripbook.ts).
 */
import { once } from "node:events";

const CHUNK_CHARACTERS = 1 << 16;

export async function* inputChunks(): AsyncGenerator<Uint8Array> {
  for await (const chunk of process.stdin) yield chunk as Buffer;
}

export interface TextOutput {
  write(text: string): Promise<void> | undefined;
  end(): Promise<void>;
}

export function textOutput(): TextOutput {
  let kept = "";
  async function flush(): Promise<void> {
    const text = kept;
    kept = "";
    if (!process.stdout.write(text)) await once(process.stdout, "drain");
  }
  return {
    write(text) {
      kept += text;
      return kept.length < CHUNK_CHARACTERS ? undefined : flush();
    },
    end: flush,
  };
}
