/** A line divided into pixel columns with the least and largest value in each, so that no spike is lost at any zoom; NaN where unknown. */

export interface LineColumns {
  readonly least: Float32Array;
  readonly most: Float32Array;
}

/** Samples further apart than this, in units of the axis, are not joined. */
export interface LineWindow {
  readonly from: number;
  readonly to: number;
  readonly width: number;
  readonly longestJoin: number;
}

/** Columns of a line over a rising axis (time or distance). Linear in samples plus pixels. */
export function lineColumns(axis: ArrayLike<number>, values: ArrayLike<number>, { from, to, width, longestJoin }: LineWindow): LineColumns {
  const least = new Float32Array(width).fill(Number.NaN);
  const most = new Float32Array(width).fill(Number.NaN);
  const pxPer = width / (to - from);
  const put = (column: number, value: number) => {
    if (column < 0 || column >= width) return;
    if (!(least[column] <= value)) least[column] = value;
    if (!(most[column] >= value)) most[column] = value;
  };
  for (let i = 0; i < axis.length; i += 1) {
    const at = axis[i];
    const value = values[i];
    if (Number.isNaN(at) || Number.isNaN(value)) continue;
    const column = Math.floor((at - from) * pxPer);
    put(column, value);
    const nextAt = axis[i + 1];
    const next = values[i + 1];
    if (nextAt === undefined || next === undefined || Number.isNaN(nextAt) || Number.isNaN(next) || nextAt - at > longestJoin) continue;
    const last = Math.floor((nextAt - from) * pxPer);
    for (let c = Math.max(0, column + 1); c < Math.min(width, last); c += 1)
      put(c, value + ((next - value) * (c - column)) / (last - column));
  }
  return { least, most };
}

/** Round steps for a scale from 0 that includes `most`, at most `count` of them. */
export function ticks(most: number, count: number): { readonly step: number; readonly top: number } {
  const rough = Math.max(most, 1e-6) / count;
  const decade = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 4, 5, 10].find((factor) => factor * decade >= rough - 1e-9) ?? 10) * decade;
  return { step, top: Math.max(step, Math.ceil(most / step - 1e-9) * step) };
}
