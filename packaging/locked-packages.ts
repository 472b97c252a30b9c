/** The packages that Gripbook stands on, as npm itself tells them: from the lock file, and as a CycloneDX bill of materials. Where this npm cannot make one (before 9.9), null. */
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";

export interface Package {
  /** Folder in node_modules. */
  readonly path: string;
  readonly version: string;
  readonly licence: string;
  /** Not part of what people get. */
  readonly dev: boolean;
}

interface Locked {
  readonly version?: string;
  readonly license?: string;
  readonly dev?: boolean;
}

export function lockedPackages(): Package[] {
  const { packages } = JSON.parse(readFileSync("package-lock.json", "utf8")) as { packages: Record<string, Locked> };
  return Object.entries(packages)
    .filter(([path]) => path !== "")
    .map(([path, { version = "", license = "", dev = false }]) => ({ path, version, licence: license, dev }));
}

export interface Component {
  readonly name: string;
  readonly version: string;
  readonly licenses?: readonly { readonly license?: { readonly id?: string; readonly name?: string }; readonly expression?: string }[];
}

/** What people get, without what only tests and builds need. Asks no registry. */
export function billOfMaterials(): { readonly text: string; readonly components: readonly Component[] } | null {
  const { status, stdout } = spawnSync("npm", ["sbom", "--sbom-format", "cyclonedx", "--omit", "dev"], {
    encoding: "utf8",
    maxBuffer: 1 << 26,
  });
  if (status !== 0) return null;
  return { text: stdout, components: (JSON.parse(stdout) as { components: Component[] }).components };
}

export const licenceOf = ({ licenses = [] }: Component): string =>
  licenses.map(({ license, expression }) => expression ?? license?.id ?? license?.name ?? "").join(" AND ");
