/** The built screens, read once into memory and found by exact path, so that no request can name a file outside. A missing build throws. */
import { readdirSync, readFileSync } from "node:fs";
import { extname, join, relative, sep } from "node:path";

export interface PageFile {
  readonly type: string;
  readonly bytes: Uint8Array<ArrayBuffer>;
}

const TYPES: Readonly<Record<string, string>> = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".woff2": "font/woff2",
  ".woff": "font/woff",
  ".svg": "image/svg+xml",
  ".png": "image/png",
};

/** Path ("/", "/assets/x.js") to file. Files of a type the screens do not use are left out. */
export function readPageFiles(folder: string): ReadonlyMap<string, PageFile> {
  const files = new Map<string, PageFile>();
  for (const entry of readdirSync(folder, { withFileTypes: true, recursive: true })) {
    const type = TYPES[extname(entry.name)];
    if (!entry.isFile() || type === undefined) continue;
    const file = join(entry.parentPath, entry.name);
    const path = `/${relative(folder, file).split(sep).join("/")}`;
    files.set(path, { type, bytes: new Uint8Array(readFileSync(file)) });
  }
  const index = files.get("/index.html");
  if (index === undefined) throw new Error(`${folder}: expected index.html; run npm run build`);
  files.set("/", index);
  return files;
}
