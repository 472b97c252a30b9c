/** Which runs Compare and Report take: terms that all must hold, asked for in one line. An empty line takes all runs; Esc changes nothing. */
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import { termsOf } from "../../../shared/judge/run-filter.ts";
import type { Frame } from "../../screen/page.ts";

type Asked = RequestArgument<"compare.read">;

/** What the keys of this choice do. `asked`: the comparison on the screen; `ask`: asks for another. */
export function createRunChoice(frame: Frame, asked: () => Asked, ask: (next: Asked) => Promise<void>) {
  async function choose(): Promise<void> {
    const text = await frame.ask({
      title: "Which runs to compare",
      field: "All of these hold, such as surface=wet; day>=2031-05-04; direction=east; car=Odrel",
      value: (asked().where ?? []).join("; "),
      button: "Compare these",
      most: 400,
    });
    // Groups chosen before may have no run among these.
    if (text !== null) await ask({ ...asked(), where: termsOf(text), groups: undefined });
  }
  return {
    "compare.only": () => void choose(),
    "compare.pool"() {
      const pooled = asked().by === undefined;
      void ask({ ...asked(), by: pooled ? [] : undefined }).then(() =>
        frame.announce(pooled ? "All runs compared with all" : "Compared within what the runs differ in"),
      );
    },
  };
}
