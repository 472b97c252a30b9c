/** A figure of this folder: a value with the half width of its 95 % interval; an unknown one is null and says why. */

export interface Figure {
  readonly value: number;
  readonly plusMinus95: number;
}

/** A figure of the car. Unknown: both numbers null, `why` set. */
export interface CarFigure {
  readonly value: number | null;
  readonly plusMinus95: number | null;
  /** "fitted": runs and gentle driving contributed. "set-up": as entered, or the usual value where nothing was entered. */
  readonly from: "fitted" | "set-up";
  /** One sentence: why the figure is unknown or not fitted; absent where it is fitted. */
  readonly why?: string;
}
