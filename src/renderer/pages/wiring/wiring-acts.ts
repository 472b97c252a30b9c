/**
 * What Wiring's buttons and keys do: the remedy of each finding, and choosing a row's signal. A refusal goes to the frame; on a phone
 * nothing can be changed.
 */
import type { RoleName, SetUpEdited } from "../../../shared/contract/wiring-contract.ts";
import type { Frame } from "../../screen/page.ts";
import { onlyShows } from "../../screen/only-shows.ts";
import { askBitrate } from "./ask-bitrate.ts";
import { pickPort } from "./pick-port.ts";
import { pickSignal } from "./pick-signal.ts";
import { askFile } from "./signal-file.ts";
import type { WiringWatch } from "./wiring-watch.ts";
import { type Finding, type Remedy, ROLE_TITLES } from "./wiring-words.ts";

export interface WiringActs {
  /** The remedy for each finding. */
  readonly remedies: Readonly<Record<Remedy, () => unknown>>;
  /** Chooses the role's signal; null: of the marked row, or of the row that the finding is about. */
  pick(role: RoleName | null): void;
  /** The remedy for the finding that is shown. */
  remedy(): void;
}

export interface WiringActsOptions {
  readonly frame: Frame;
  readonly watch: WiringWatch;
  finding(): Finding | null;
  /** The role of the marked row. */
  marked(): RoleName | null;
}

export function createWiringActs({ frame, watch, finding, marked }: WiringActsOptions): WiringActs {
  const { bridge } = frame;
  const roleView = (role: RoleName | null) => watch.view()?.roles.find((each) => each.role === role) ?? null;
  const edit = (done: string, words: string, request: () => Promise<SetUpEdited>) =>
    watch.whileBusy(words, () => frame.edit(done, request()));

  const addFile = async () => {
    const file = await askFile(frame);
    if (file === null) return;
    await edit(`Signal file ${file.name} added`, "Reading the signal file\u2026", () => bridge.request("wiring.file", file));
  };

  function pick(role: RoleName | null): void {
    const wanted = roleView(role ?? marked() ?? finding()?.role ?? "motorSpeed");
    if (wanted === null || onlyShows()) return;
    if (watch.view()?.missing === "signal file") void addFile();
    else pickSignal(frame, wanted);
  }

  function invert(): void {
    const found = finding();
    const role = roleView(found?.remedy === "invert" ? found.role : marked());
    if (role === null || role.signals.length === 0) {
      frame.announce("Choose a row with a signal first");
      return;
    }
    const choices = role.signals.map(({ signal, invert: turned }) => ({ signal, invert: !turned }));
    void watch.whileBusy("Checking it inverted\u2026", async () => {
      const answer = await bridge.request("wiring.choose", { role: role.role, choices, anyway: false });
      if ("refused" in answer) throw new Error(answer.refused);
      await frame.edit(`${ROLE_TITLES[role.role]} inverted`, Promise.resolve(answer));
    });
  }

  const remedies: WiringActs["remedies"] = {
    look: watch.lookAgain,
    own: () =>
      watch.whileBusy("Opening an empty set-up\u2026", async () =>
        frame.announce(`Set-up ${(await bridge.request("wiring.own", {})).file}`),
      ),
    file: addFile,
    ports: () => pickPort(frame, "gnss", watch.view()?.gnss ?? null),
    adapter: () => pickPort(frame, "can", watch.view()?.can ?? null),
    baud: () =>
      edit("Baud set", "Listening for the receiver\u2019s baud\u2026", () =>
        bridge.request("wiring.source", { stream: "gnss", port: watch.view()?.gnss?.port ?? "", baud: null }),
      ),
    swap: () => edit("Ports swapped", "Swapping the ports and listening\u2026", () => bridge.request("wiring.swap", {})),
    bitrate: () => askBitrate(frame),
    check: () => watch.whileBusy("Listening on both ports\u2026", () => bridge.request("wiring.check", {})),
    car: () => frame.go("car"),
    invert,
    pick: () => pick(finding()?.role ?? null),
    before: () => frame.go("before"),
  };

  return {
    remedies,
    pick,
    remedy() {
      const found = finding();
      if (found !== null && watch.busy() === null && !onlyShows()) remedies[found.remedy]();
    },
  };
}
