/** `notice`: how early each way would have noticed spin, replayed over stored driving. */
import type { Command } from "commander";
import type { NoticeView } from "../../shared/contract/tune-views.ts";
import type { LimitPoint, NoticeAnswer } from "../../shared/tune/notice.ts";
import { NOTICE_WAYS, type NoticeWay } from "../../shared/tune/spin-watch.ts";
import { onlyRuns } from "../core/library/chosen-runs.ts";
import { noticeBook } from "../core/judging/notice-book.ts";
import { readNumber } from "./read-number.ts";
import { say, sayJson } from "./say.ts";
import { WHERE, type WhereOption, withBook } from "./with-book.ts";

interface NoticeOptions extends WhereOption {
  readonly book: string;
  readonly way?: string;
  readonly threshold?: string;
  readonly every?: string;
  readonly late?: string;
}

const WAY_WORDS: Readonly<Record<NoticeWay, string>> = {
  acceleration: "acceleration of the driven wheels",
  wheels: "driven against undriven wheels",
  receiver: "driven wheels against the receiver",
};

function readWay(text: string | undefined): NoticeWay | undefined {
  if (text === undefined) return undefined;
  const way = NOTICE_WAYS.find((known) => known === text.trim());
  if (way === undefined) throw new RangeError(`Expected --way acceleration, wheels or receiver, got ${JSON.stringify(text)}`);
  return way;
}

function wayText({
  way,
  threshold,
  unit,
  everyS,
  lateS,
  spins,
  missed,
  noticedAfterS,
  slipThen,
  falseAlarmsPerMinute,
  bySurface,
  why,
}: NoticeAnswer): string {
  const limit = unit === "1" ? `${(100 * threshold).toFixed(0)} % slip` : `${threshold} m/s\u00b2`;
  const head = `${WAY_WORDS[way]}, over ${limit}, looking each ${(1000 * everyS).toFixed(0)} ms, ${(1000 * lateS).toFixed(0)} ms late`;
  if (why !== null) return `${head}: ${why}`;
  const when = noticedAfterS === null ? "" : `, noticed ${(1000 * noticedAfterS.value).toFixed(0)} ms after slip passed the best`;
  const slip = slipThen === null ? "" : ` at ${(100 * slipThen.value).toFixed(0)} % slip`;
  const cries = falseAlarmsPerMinute === null ? "" : `; ${falseAlarmsPerMinute.toFixed(1)} false alarms a minute of driving without spin`;
  const split = bySurface.map((one) => `${one.surface ?? "surface not noted"} ${one.spins - one.missed} of ${one.spins}`);
  return `${head}: ${spins} spins, ${missed} missed${when}${slip}${cries} (${split.join(", ")}).`;
}

function limitText(points: readonly LimitPoint[]): string[] {
  const surfaces = [...new Set(points.map(({ surface }) => surface))];
  return surfaces.map((surface) => {
    const of = points.filter((point) => point.surface === surface && point.spins > 0);
    const told = of.map(
      ({ threshold, spins, missed, slipThen }) =>
        `${threshold}: ${spins - missed}/${spins}${slipThen === null ? "" : ` at ${(100 * slipThen.value).toFixed(0)} %`}`,
    );
    return `  A limit on wheel acceleration, ${surface ?? "surface not noted"} (m/s\u00b2: noticed, at which slip): ${told.join("; ")}.`;
  });
}

const viewText = ({ ways, limits, notes }: NoticeView) =>
  [...ways.map(wayText), ...limitText(limits), ...notes.map((note) => `  Note: ${note}`)].join("\n");

export function addNoticeCommand(program: Command): void {
  program
    .command("notice")
    .description("how early each way of noticing spin would have noticed, at which slip, false alarms and spins missed")
    .requiredOption("--book <file>", "the book")
    .option("--way <name>", "acceleration, wheels or receiver; all of them unless named")
    .option("--threshold <value>", "m/s2 for acceleration, slip ratio for the others")
    .option("--every <seconds>", "looks this often")
    .option("--late <seconds>", "from a look to its answer")
    .option(...WHERE)
    .action((options: NoticeOptions, command: Command) => {
      const request = {
        way: readWay(options.way),
        threshold: readNumber("--threshold", options.threshold, 0.001, 1000),
        everyS: readNumber("--every", options.every, 0.0005, 2),
        lateS: readNumber("--late", options.late, 0, 2),
      };
      if (request.threshold !== undefined && request.way === undefined)
        throw new RangeError("Expected --way beside --threshold: m/s2 for acceleration, slip ratio for wheels and receiver");
      return withBook({ file: options.book }, async (book) => {
        const view = await noticeBook(onlyRuns(book, options.where), request);
        return command.optsWithGlobals().json === true ? sayJson<"notice">(view) : say(viewText(view));
      });
    });
}
