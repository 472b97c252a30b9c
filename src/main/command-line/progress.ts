/** The progress of long work, as one line that is overwritten, for a person at a terminal; logs and pipes get none. Never fails. */

export interface Progress {
  /** 0 to 1; null while only `words` describe it. */
  at(share: number | null, words: string): void;
  /** Removes the line. */
  end(): void;
}

/** `stream` is usually stderr: its line is cleared before anything else is printed. */
export function createProgress(stream: Pick<NodeJS.WriteStream, "isTTY" | "write"> = process.stderr): Progress {
  let said = "";
  return {
    at(share, words) {
      const line = share === null ? words : `${words}: ${Math.floor(share * 100)} %`;
      if (!stream.isTTY || line === said) return;
      stream.write(`\r${line.padEnd(said.length)}`);
      said = line;
    },
    end() {
      if (said !== "") stream.write(`\r${" ".repeat(said.length)}\r`);
      said = "";
    },
  };
}
