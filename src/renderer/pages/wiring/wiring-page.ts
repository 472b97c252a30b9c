/** Wiring: two sources, cables to the roles, the worst finding as the sentence and its remedy as the solid button. Errors go to the frame; on a phone it only shows. */
import type { CoreEvent } from "../../../shared/contract/contract.ts";
import type { RoleName, RoleView, SetUpEdited, WiringView } from "../../../shared/contract/wiring-contract.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { ActionName } from "../../screen/key-map.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { drawCables } from "./cables.ts";
import { pickPort } from "./pick-port.ts";
import { pickSignal } from "./pick-signal.ts";
import { createRoleTable } from "./role-table.ts";
import { askFile } from "./signal-file.ts";
import { createSourceBox } from "./source-box.ts";
import { tracesChart } from "./traces-chart.ts";
import { type Finding, findingOf, type Remedy, ROLE_TITLES } from "./wiring-words.ts";

const LOOK_EVERY_MS = 500;
const PHONE = "(max-width: 700px)";
export function createWiringPage(frame: Frame): Page {
  const { bridge } = frame;
  const sentence = el("h1");
  const second = el("p", { class: "lead", role: "status" });
  const boxes = { gnss: createSourceBox("Receiver"), can: createSourceBox("Adapter") };
  const cables = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  cables.setAttribute("class", "cables");
  cables.setAttribute("aria-hidden", "true");
  const table = createRoleTable((role) => pick(role));
  const where = el("p", { class: "quiet small where" });
  const tools = createChartTools(
    frame,
    "the signals",
    tracesChart(() => view),
  );
  let view: WiringView | null = null;
  let finding: Finding | null = null;
  let busy: string | null = null;
  let timer: ReturnType<typeof setInterval> | undefined;

  const button = (label: string, action: ActionName, act: () => unknown, solid = false) => {
    const element = el("button", { type: "button", class: solid ? "solid" : "" }, el("span", {}, label), hint(frame.keys, action));
    element.addEventListener("click", () => act());
    return element;
  };
  const remedy = button("Look", "wiring.remedy", () => remedyNow(), true);
  const label = remedy.querySelector("span") as HTMLElement;
  const others: readonly (readonly [Remedy, HTMLButtonElement])[] = [
    ["pick", button("Pick a signal", "wiring.pick", () => pick(null))],
    ["check", button("Check again", "wiring.check", () => void checkAgain())],
    ["bitrate", button("Find bit rate", "wiring.bitrate", () => findBitrate())],
    ["file", button("Signal file", "wiring.file", () => void addFile())],
  ];
  const buttons = el("div", { class: "buttons edits" }, remedy, ...others.map(([, element]) => element));

  const phone = () => window.matchMedia(PHONE).matches;
  const roleView = (role: RoleName | null) => view?.roles.find((each) => each.role === role) ?? null;

  function render(): void {
    if (view === null) return;
    finding = findingOf(view);
    setText(sentence, finding.sentence);
    setText(second, busy ?? finding.second);
    setText(label, finding.button);
    setText(where, view.file === null ? "" : `Kept in ${view.file}`);
    where.title = view.file === null ? "" : `Next time: npm start -- --setup ${view.file}`;
    for (const [name, element] of others) element.hidden = name === finding.remedy || view.simulated;
    boxes.gnss.show(view.gnss, [], view.simulated);
    const files = view.signalFiles.map(({ name, signals }) => `Signal file ${name}, ${signals} signals`);
    boxes.can.show(view.can, files.length === 0 ? ["No signal file yet"] : files, view.simulated);
    const ends = table.show(view, finding.role);
    drawCables(cables, { gnss: boxes.gnss.element, can: boxes.can.element }, ends);
  }

  async function look(): Promise<void> {
    if (busy !== null || frame.feed.frozen()) return;
    try {
      const found = await bridge.request("wiring.read", {});
      if (busy !== null) return;
      view = found;
      render();
    } catch (error) {
      clearInterval(timer);
      frame.fail(error);
    }
  }

  /** Work that closes the ports for a while: the sentence below says so until it is over. */
  async function whileBusy(words: string, work: () => Promise<unknown>): Promise<void> {
    if (busy !== null) return;
    busy = words;
    render();
    try {
      await work();
    } catch (error) {
      frame.fail(error);
    } finally {
      busy = null;
      await look();
    }
  }

  const edit = (done: string, words: string, request: () => Promise<SetUpEdited>) => whileBusy(words, () => frame.edit(done, request()));

  const checkAgain = () =>
    whileBusy("Listening on both ports\u2026", async () => {
      view = await bridge.request("wiring.check", {});
    });

  const addFile = () =>
    askFile(frame).then((file) =>
      file === null
        ? undefined
        : edit(`Signal file ${file.name} added`, "Reading the signal file\u2026", () => bridge.request("wiring.file", file)),
    );

  function pick(role: RoleName | null): void {
    const wanted = roleView(role ?? table.selected() ?? finding?.role ?? "motorSpeed");
    if (wanted === null || phone()) return;
    if (view?.missing === "signal file") void addFile();
    else pickSignal(frame, wanted);
  }

  function invert(): void {
    const role: RoleView | null = roleView(finding?.remedy === "invert" ? finding.role : table.selected());
    if (role === null || role.signals.length === 0) {
      frame.announce("Choose a row with a signal first");
      return;
    }
    const choices = role.signals.map(({ signal, invert: turned }) => ({ signal, invert: !turned }));
    const title = ROLE_TITLES[role.role];
    void whileBusy("Checking it inverted\u2026", async () => {
      const answer = await bridge.request("wiring.choose", { role: role.role, choices, anyway: false });
      if ("refused" in answer) throw new Error(answer.refused);
      await frame.edit(`${title} inverted`, Promise.resolve(answer));
    });
  }

  function findBitrate(): void {
    const box = el("input", { type: "checkbox" });
    openAsking(
      {
        title: "Find the bus\u2019s bit rate",
        content: [
          el(
            "p",
            {},
            "Gripbook opens the adapter at each usual rate and only listens. An adapter at a wrong rate can still disturb a bus: the car must not be able to drive meanwhile.",
          ),
          el("label", { class: "row" }, box, "The drive is disabled, and the car stands still"),
        ],
        button: "Find bit rate",
        bridge,
        async act() {
          if (!box.checked) return "Confirm first that the drive is disabled";
          const answer = await bridge.request("wiring.bitrate", { driveDisabled: true });
          if (answer.bitrate === null) return answer.words;
          await frame.edit(answer.words, Promise.resolve(answer as SetUpEdited));
          return null;
        },
      },
      "Listening at one rate after the other\u2026",
    );
  }

  const remedies: Readonly<Record<Remedy, () => unknown>> = {
    own: () =>
      whileBusy("Opening an empty set-up\u2026", async () => frame.announce(`Set-up ${(await bridge.request("wiring.own", {})).file}`)),
    file: addFile,
    ports: () => pickPort(frame, "gnss", view?.gnss ?? null),
    adapter: () => pickPort(frame, "can", view?.can ?? null),
    baud: () =>
      edit("Baud set", "Listening for the receiver\u2019s baud\u2026", () =>
        bridge.request("wiring.source", { stream: "gnss", port: view?.gnss?.port ?? "", baud: null }),
      ),
    swap: () => edit("Ports swapped", "Swapping the ports and listening\u2026", () => bridge.request("wiring.swap", {})),
    bitrate: findBitrate,
    check: checkAgain,
    car: () => frame.go("car"),
    invert,
    pick: () => pick(finding?.role ?? null),
    before: () => frame.go("before"),
  };

  function remedyNow(): void {
    if (finding !== null && busy === null && !phone()) remedies[finding.remedy]();
  }

  return {
    name: "wiring",
    title: "Wiring",
    element: el(
      "div",
      { class: "page wiring" },
      sentence,
      second,
      buttons,
      el("div", { class: "wires" }, el("div", { class: "boxes" }, boxes.gnss.element, boxes.can.element), cables, table.element),
      el(
        "div",
        { class: "figure-head" },
        el(
          "p",
          { class: "quiet small" },
          "Gripbook only listens to the car. Plug the adapter in with the car off, its terminator switched off.",
        ),
        tools.element,
      ),
      where,
    ),
    acts: {
      "wiring.remedy": remedyNow,
      "wiring.down": () => table.move(1),
      "wiring.up": () => table.move(-1),
      "wiring.pick": () => pick(null),
      "wiring.invert": invert,
      "wiring.ports": remedies.ports,
      "wiring.adapter": remedies.adapter,
      "wiring.bitrate": findBitrate,
      "wiring.check": checkAgain,
      "wiring.file": addFile,
      "wiring.all": () => {
        table.toggleAll();
        render();
      },
    },
    takes: (_, event) => !phone() || event.key.startsWith("Arrow"),
    shown() {
      clearInterval(timer);
      timer = setInterval(() => void look(), LOOK_EVERY_MS);
      void look();
    },
    hidden: () => clearInterval(timer),
    onEvent(event: CoreEvent) {
      // A new process or another book: what was wrong may be right now.
      if (event.event === "notice" && (event.key === "core" || event.key === "link") && event.text === null && timer !== undefined)
        void look();
    },
    changed: render,
  };
}
