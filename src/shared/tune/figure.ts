/** A figure as the tune room states it: a value with the half width of its 95 % interval; what cannot be told is null and says why. */

export interface Figure {
  readonly value: number;
  readonly plusMinus95: number;
}

/** A figure of the car. Unknown: both numbers null, `why` set. */
export interface CarFigure {
  readonly value: number | null;
  readonly plusMinus95: number | null;
  /** "fitted": the runs and the gentle driving had a say; "set-up": as entered, or the usual value where nothing was. */
  readonly from: "fitted" | "set-up";
  /** One sentence: why it is unknown, or why it is not fitted; absent where it is. */
  readonly why?: string;
}
