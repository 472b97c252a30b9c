/** A chart's data as text for a spreadsheet, tabs between cells or as CSV: one row of names with their units, then the values; unknown is empty. Pure. */
import { csvField, inert } from "../../shared/report/csv.ts";

export interface ChartTable {
  readonly columns: readonly { readonly name: string; readonly unit: string }[];
  readonly rows: readonly (readonly (string | number | null | undefined)[])[];
}

/** A tab or line end would split a cell, and a text that looks like a formula would become one when pasted. */
const cell = (value: string | number | null | undefined) => {
  if (value === null || value === undefined || Number.isNaN(value)) return "";
  return typeof value === "number" ? String(value) : inert(value.replace(/[\t\r\n]+/g, " "));
};

const cellsOf = ({ columns, rows }: ChartTable): string[][] => [
  columns.map(({ name, unit }) => cell(unit === "" ? name : `${name} (${unit})`)),
  ...rows.map((row) => row.map(cell)),
];

export const tableText = (table: ChartTable): string =>
  cellsOf(table)
    .map((cells) => cells.join("\t"))
    .join("\n");

/** RFC 4180. */
export const tableCsv = (table: ChartTable): string =>
  cellsOf(table)
    .map((cells) => `${cells.map(csvField).join(",")}\r\n`)
    .join("");
