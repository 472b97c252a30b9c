/** The chance at which a difference is claimed: 1 in 20 (docs/design.md). Every rule of comparing goes by this one. */
export const LEVEL = 0.05;
