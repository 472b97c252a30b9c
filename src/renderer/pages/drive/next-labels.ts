/** The labels that the next run can be given by one key or one tap. */
/** That such tests usually have. */
const USUAL_LABELS = ["traction control off", "traction control on"];

/** In the order in which the book first had them, then the plan's, then the usual two. In a new book without a plan, 1 is off and 2 is on. */
export function nextLabels(runs: readonly { readonly label: string }[], planned: readonly string[], most: number): readonly string[] {
  return [...new Set([...runs.map((run) => run.label), ...planned, ...USUAL_LABELS])].filter((label) => label !== "").slice(0, most);
}
