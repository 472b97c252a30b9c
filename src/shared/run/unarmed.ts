/**
 * The note on a run that was found when its recording closed although nobody had armed. The run is kept; Gripbook set it aside, no person
 * did.
 */
export const UNARMED = "Driven without being armed: use it again if it was meant as a run.";
