/** A chart's data as text for a spreadsheet: one row of names with their units, then the values; unknown is empty. Pure. */

export interface ChartTable {
  readonly columns: readonly { readonly name: string; readonly unit: string }[];
  readonly rows: readonly (readonly (string | number | null | undefined)[])[];
}

/** A tab or a line's end would part a cell. */
const cell = (value: string | number | null | undefined) =>
  value === null || value === undefined || Number.isNaN(value) ? "" : String(value).replace(/[\t\r\n]+/g, " ");

export function tableText({ columns, rows }: ChartTable): string {
  const head = columns.map(({ name, unit }) => cell(unit === "" ? name : `${name} (${unit})`));
  return [head, ...rows.map((row) => row.map(cell))].map((cells) => cells.join("\t")).join("\n");
}
