/** The cautions, in the words shown on the screens. People confirm what only they can see. */

export const CAUTIONS: readonly string[] = [
  "Closed course or private ground, with permission. Local law comes first.",
  "Belts and helmets on. Clear run-off ahead; in the wet, or without traction control, note on Plan how much there is.",
  "A stop word is agreed. The passenger may abort at any time; the driver starts only on the passenger\u2019s all-clear.",
  "The driver never reads the screen.",
  "The laptop is strapped down, clear of airbag and head path, never on a lap before an airbag.",
  "Cables are clear of the pedals. The adapter was plugged in with the car off, its terminator switched off.",
  "High-voltage work only by qualified people, never at the course.",
];
