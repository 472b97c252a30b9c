/** The note on a run that was found when its recording closed though nobody had armed: it is kept, set aside by the tool and by no person. */
export const UNARMED = "Driven without being armed: take it back in if it was meant as a run.";
