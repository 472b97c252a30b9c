/**
 * Car: the path of force as five stations on the ground line, with fields below them and the source of each value; and the guided
 * calibration. What cannot be saved is explained below the buttons.
 */
import type { CoreEvent } from "../../../shared/contract/contract.ts";
import type { CarView } from "../../../shared/contract/wiring-contract.ts";
import { el, setText } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { overNetwork } from "../../bridge/over-network.ts";
import { onlyShows } from "../../screen/only-shows.ts";
import { createCarForm } from "./car-form.ts";
import { carRefusal, carSentence } from "./car-words.ts";
import { createGuidedPanel } from "./guided-panel.ts";
import { createIntervalChart } from "./interval-chart.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

const LOOK_EVERY_MS = 1000;
const SIMULATED = "The simulated car\u2019s figures are fixed, and nothing was saved: \u201cUse my own car\u201d on Wiring asks for yours";

const ONLY_SHOWN = overNetwork()
  ? "This screen only shows; change the car at the laptop"
  : "A window this narrow only shows the car; make it wider to change it";

export function createCarPage(frame: Frame): Page {
  const { bridge } = frame;
  let view: CarView | null = null;
  let timer: ReturnType<typeof setInterval> | undefined;
  const sentence = el("h1");
  const second = el("p", { class: "lead", role: "status" });
  const begin = () => void calibrate("begin", "Calibration begins");
  const accept = () => void calibrate("accept", "Calibration kept");
  const toWiring = () => frame.go("wiring");
  const form = createCarForm({ keys: frame.keys, save: () => void save(), calibrate: begin, toWiring });
  const guided = createGuidedPanel({
    chart: createIntervalChart(frame),
    acceptKey: hint(frame.keys, "car.accept"),
    accept,
    leave: () => void calibrate("leave", "Calibration discarded; the old one stays"),
    note: (tyres, pressureKpa) => void tell(bridge.request("car.tyres", { tyres, pressureKpa })),
  });

  function render(): void {
    if (view === null) return;
    const said = carSentence(view);
    setText(sentence, said.sentence);
    setText(second, said.second);
    form.show(view);
    // During guided calibration only the next step counts.
    form.element.hidden = view.guided !== null;
    guided.show(view);
  }

  async function tell(request: Promise<CarView>): Promise<void> {
    try {
      view = await request;
      render();
    } catch (error) {
      form.say(wordsOf(error));
    }
  }

  async function look(): Promise<void> {
    try {
      view = await bridge.request("car.read", {});
      render();
    } catch (error) {
      clearInterval(timer);
      frame.fail(error);
    }
  }

  async function calibrate(step: "begin" | "accept" | "leave", done: string): Promise<void> {
    form.say(null);
    if (step === "accept") setText(second, "Fitting the whole drive\u2026");
    await tell(bridge.request("car.calibrate", { step }));
    frame.announce(done);
  }

  async function save(): Promise<void> {
    form.mark(null);
    form.say(onlyShows() ? ONLY_SHOWN : null);
    if (onlyShows()) return;
    const set = view === null ? {} : form.changes(view.draft);
    if (set === null) return;
    if (Object.keys(set).length === 0) return form.say("Nothing was changed");
    if (view?.simulated === true) return form.say(SIMULATED);
    try {
      await frame.edit("Car saved", Promise.resolve(await bridge.request("car.save", { set })));
      await look();
    } catch (error) {
      const { words, key } = carRefusal(wordsOf(error));
      form.say(words);
      form.mark(key);
    }
  }

  return {
    name: "car",
    title: "Car",
    element: el("div", { class: "page car" }, sentence, second, form.element, guided.element),
    acts: {
      "car.save": () => void save(),
      "car.calibrate": () => view?.guided === null && begin(),
      "car.accept": () => view !== null && view.guided !== null && accept(),
      "car.wiring": toWiring,
    },
    takes: () => overNetwork() || !onlyShows(),
    shown() {
      clearInterval(timer);
      timer = setInterval(() => void look(), LOOK_EVERY_MS);
      void look();
    },
    hidden: () => clearInterval(timer),
    onEvent(event: CoreEvent) {
      if (event.event === "runStored") render();
    },
    changed: render,
  };
}
