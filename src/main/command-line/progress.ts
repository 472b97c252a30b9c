/** How far long work is, as one line that is written over, for a person at a terminal; logs and pipes get none. Never fails. */

export interface Progress {
  /** 0 to 1; null while only `words` can tell. */
  at(share: number | null, words: string): void;
  /** Takes the line away. */
  end(): void;
}

/** `stream` as stderr is: its line is wiped before anything else is said. */
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
