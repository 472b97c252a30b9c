/** The address at which a host serves the report of the last comparison, and that comparison in words. */
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import { KMH_AND_M } from "../../../shared/kernel/shown-units.ts";
import { gateName } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";

export type ReportFormat = "html" | "pdf" | "png";
const ADDRESS: Readonly<Record<ReportFormat, string>> = { html: "report", pdf: "report.pdf", png: "report.png" };

/** `more`: further parts of the query. */
export function reportAddress(
  { gate, start, groups = [], where = [], by }: RequestArgument<"compare.read">,
  format: ReportFormat,
  more: Readonly<Record<string, string>> = {},
): string {
  const query = new URLSearchParams(more);
  if (units() !== KMH_AND_M) query.set("units", units().name);
  if (gate !== undefined) query.set("gate", gate);
  if (start !== undefined) query.set("start", start);
  for (const group of groups) query.append("group", group);
  for (const term of where) query.append("where", term);
  // One that is empty says that all are compared with all.
  for (const factor of by?.length === 0 ? [""] : (by ?? [])) query.append("by", factor);
  const text = query.toString();
  return text === "" ? ADDRESS[format] : `${ADDRESS[format]}?${text}`;
}

export function reportWords({ gate, start, groups, where = [] }: RequestArgument<"compare.read">): string {
  const as = [
    ...(gate === undefined ? [] : [`${gateName(gate)} from ${start ?? "movement"}`]),
    ...(groups === undefined ? [] : [groups.join(" against ")]),
    ...(where.length === 0 ? [] : [`only runs with ${where.join(" and ")}`]),
  ];
  return `One file with everything in it: verdict, every value, prints, figures with intervals, conditions, plan, cautions.${as.length === 0 ? "" : ` As on Compare: ${as.join(", ")}.`}`;
}
