/** The handbook as the build puts it into the screens (src/renderer/build/handbook-plugin.ts). */
declare module "*/docs/handbook/README.md" {
  import type { HandbookChapter } from "../build/handbook-tree.ts";
  export const CHAPTERS: readonly HandbookChapter[];
  /** Addresses of the pictures by file name. */
  export const PICTURES: Readonly<Record<string, string>>;
}
