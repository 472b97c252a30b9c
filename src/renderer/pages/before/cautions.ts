/** The cautions, in the words that stand on the screens. What only people can see is theirs to confirm. */

export interface Caution {
  readonly key: string;
  readonly text: string;
}

export const CAUTIONS: readonly Caution[] = [
  { key: "ground", text: "Closed course or private ground, with permission. Local law comes first." },
  {
    key: "belts",
    text: "Belts and helmets on. Clear run-off ahead; in the wet, or without traction control, note on Plan how much there is.",
  },
  {
    key: "word",
    text: "A stop word is agreed. The passenger may abort at any time; the driver starts only on the passenger\u2019s all-clear.",
  },
  { key: "eyes", text: "The driver never reads the screen." },
  { key: "laptop", text: "The laptop is strapped down, clear of airbag and head path, never on a lap before an airbag." },
  { key: "cables", text: "Cables are clear of the pedals. The adapter was plugged in with the car off, its terminator switched off." },
  { key: "voltage", text: "High-voltage work only by qualified people, never at the course." },
];
