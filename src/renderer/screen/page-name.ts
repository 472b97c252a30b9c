/** The names of the pages in addresses and keys. */
export type PageName = "car" | "wiring" | "before" | "drive" | "runs" | "compare" | "lost" | "plan" | "report";
