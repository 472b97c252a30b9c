/** The pages by the names that addresses and keys use. */
export type PageName = "car" | "wiring" | "before" | "drive" | "runs" | "compare" | "lost" | "plan" | "report";
