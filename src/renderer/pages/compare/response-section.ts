/**
 * Response to settings: what each setting noted with the runs is worth, residuals drawn, what to drive next, and which expected gains came true.
 * Hidden where no setting differs and nothing was expected. An answer to an older question is dropped.
 */
import type { ResponseView } from "../../../shared/contract/judge-views.ts";
import { paintResponse, responseHeight } from "../../../shared/draw/response-painter.ts";
import { responseLines } from "../../../shared/judge/response-words.ts";
import type { Picture } from "../../draw/chart-file.ts";
import type { ChartTable } from "../../draw/chart-table.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";

export interface ResponseSection {
  readonly element: HTMLElement;
  ask(gate: string, where: readonly string[]): Promise<void>;
  /** Draws it again: the scheme or the size changed. */
  paint(): void;
  /** Proposes the next experiment on Plan. */
  test(): void;
}

/** Runs chosen by a wet surface: what they ask for is driven in the wet. */
const isWet = (term: string) => /^\s*surface\s*=\s*(?:wet|damp)/i.test(term);

const SAVED = { width: 900, px: 20 } as const;

function tableOf({ gate, response }: ResponseView): ChartTable | null {
  if (response === null) return null;
  return {
    columns: [
      { name: "What", unit: "" },
      { name: "Setting or run", unit: "" },
      { name: gate, unit: "s" },
      { name: "Half width of 95 %", unit: "s" },
      { name: "Residual", unit: "s" },
    ],
    rows: [
      ...response.factors.map(({ name, worth }) => ["worth from low to high", name, worth?.seconds, worth?.plusMinus95, null]),
      ...response.points.map(({ run, seconds, residual }) => ["run", run, seconds, null, residual]),
    ],
  };
}

export function createResponseSection(frame: Frame): ResponseSection {
  let view: ResponseView | null = null;
  let asked = "";
  let chosen: readonly string[] = [];
  const canvas = el("canvas", { role: "img" });
  const lines = el("div", { class: "small" });
  const figure = el("div", { class: "response-figure" }, canvas);
  const test = keyButton(frame.keys, "Plan the next test", "compare.test", testIt);
  const picture = (): Picture | null => {
    const response = view?.response ?? null;
    if (response === null) return null;
    return {
      width: SAVED.width,
      height: responseHeight(response.factors.length, SAVED.px),
      paint: (on, palette) => paintResponse(on, response, palette, SAVED.px),
    };
  };
  const title = () => `${frame.car()}: what each setting is worth, ${view?.gate ?? ""}`;
  const tools = createChartTools(frame, "the settings", {
    name: () => "settings",
    title,
    picture,
    table: () => (view === null ? null : tableOf(view)),
  });
  const element = el(
    "section",
    { hidden: true },
    el("div", { class: "figure-head" }, el("h2", {}, "What each setting is worth"), tools.element),
    figure,
    lines,
    el("div", { class: "buttons" }, test),
  );

  function testIt(): void {
    if (view?.next == null) {
      frame.announce("There is no next test of settings");
      return;
    }
    const { settings, runsPerSetting, expected } = view.next;
    frame.proposed.test = {
      groups: settings.map(({ label }) => label),
      runsPerGroup: runsPerSetting,
      gate: view.gate,
      ...(chosen.some(isWet) ? { wet: true } : {}),
      hopedS: expected === null ? null : -expected.gainS,
    };
    frame.go("plan");
  }

  function paint(): void {
    const response = view?.response ?? null;
    if (response === null || element.hidden) return;
    const px = fontPx(lines);
    canvas.style.height = `${responseHeight(response.factors.length, px)}px`;
    const on = surface(canvas);
    if (on !== null) paintResponse(on, response, readPalette(), px);
  }

  return {
    element,
    async ask(gate, where) {
      const wanted = JSON.stringify([gate, where, frame.runs().map(({ id, label, use }) => [id, label, use])]);
      asked = wanted;
      const answer = await frame.bridge.request("response.read", { gate, where: [...where] });
      if (asked !== wanted) return;
      view = answer;
      chosen = where;
      const { response, kept, next } = answer;
      element.hidden = response === null && kept.length === 0;
      figure.hidden = response === null;
      test.hidden = next === null;
      const told = responseLines({ ...answer, why: answer.why ?? "" });
      lines.replaceChildren(...told.map((line) => el("p", {}, line.trim())));
      canvas.setAttribute(
        "aria-label",
        `What each setting is worth, and the residuals of ${response?.points.length ?? 0} runs in driving order`,
      );
      paint();
    },
    paint,
    test: testIt,
  };
}
