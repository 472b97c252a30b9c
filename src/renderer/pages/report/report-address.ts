/** Where a host serves the report of what Compare was asked last, and that question in words. */
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import { gateName } from "../../screen/format.ts";

export type ReportFormat = "html" | "pdf" | "png";
const ADDRESS: Readonly<Record<ReportFormat, string>> = { html: "report", pdf: "report.pdf", png: "report.png" };

/** `more`: further parts of the query. */
export function reportAddress(
  { gate, start, groups = [] }: RequestArgument<"compare.read">,
  format: ReportFormat,
  more: Readonly<Record<string, string>> = {},
): string {
  const query = new URLSearchParams(more);
  if (gate !== undefined) query.set("gate", gate);
  if (start !== undefined) query.set("start", start);
  for (const group of groups) query.append("group", group);
  const text = query.toString();
  return text === "" ? ADDRESS[format] : `${ADDRESS[format]}?${text}`;
}

export function reportWords({ gate, start, groups }: RequestArgument<"compare.read">): string {
  const as = [
    ...(gate === undefined ? [] : [`${gateName(gate)} from ${start ?? "movement"}`]),
    ...(groups === undefined ? [] : [groups.join(" against ")]),
  ];
  return `One file with everything in it: verdict, every value, prints, figures with intervals, conditions, plan, cautions.${as.length === 0 ? "" : ` As on Compare: ${as.join(", ")}.`}`;
}
