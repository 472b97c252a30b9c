/**
 * The report at an address of its own on both hosts: `/report` for the preview and for saving, `/report.pdf` and `/report.png` printed on
 * demand. Its own policy forbids loading anything; only our own page may frame it. Errors answer with one line of text.
 */
import { checkRequest } from "../../shared/contract/contract.ts";
import type { ReportView } from "../../shared/contract/judge-views.ts";
import type { CoreLink } from "./core-process.ts";
import { PAGE_HEADERS } from "./page-headers.ts";
import type { PrintFormat } from "./print-report.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";

export interface PageAnswer {
  readonly status: number;
  readonly headers: Readonly<Record<string, string>>;
  readonly body: string | Uint8Array<ArrayBuffer>;
}

/** `signal`: the client has gone, so nobody waits for the print any more. */
export type PrintReport = (html: string, format: PrintFormat, signal: AbortSignal) => Promise<Uint8Array>;

const ADDRESSES: Readonly<Record<string, "html" | PrintFormat>> = { "/report": "html", "/report.pdf": "pdf", "/report.png": "png" };
const TYPES = { html: "text/html; charset=utf-8", pdf: "application/pdf", png: "image/png" } as const;
const POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'; sandbox";

/** `units` of the screen; `gate`, `start`, `group` (twice or more), `where` and `by` (once or more; empty: all with all) as in the comparison on the screen. */
function requestOf(query: URLSearchParams): Record<string, unknown> {
  const [gate, start, groups] = [query.get("gate"), query.get("start"), query.getAll("group")];
  const [where, by, units] = [query.getAll("where"), query.getAll("by"), query.get("units")];
  return {
    ...(units === null ? {} : { units }),
    ...(gate === null ? {} : { gate }),
    ...(start === null ? {} : { start }),
    ...(groups.length === 0 ? {} : { groups }),
    ...(where.length === 0 ? {} : { where }),
    ...(by.length === 0 ? {} : { by: by.filter((factor) => factor !== "") }),
  };
}

/** The answer for an address of the report; null for any other. */
export async function reportPage(
  url: URL,
  core: Pick<CoreLink, "request">,
  print: PrintReport,
  signal: AbortSignal,
): Promise<PageAnswer | null> {
  const format = ADDRESSES[url.pathname];
  if (format === undefined) return null;
  try {
    const { html, name } = (await core.request(
      "report.html",
      checkRequest("report.html", requestOf(url.searchParams)).argument,
    )) as ReportView;
    const headers = {
      ...PAGE_HEADERS,
      "Content-Security-Policy": POLICY,
      "Content-Type": TYPES[format],
      // A header must be ASCII (RFC 9110, section 5.5), but a car's name may be in any script.
      "X-File-Name": encodeURIComponent(`${name}.${format}`),
    };
    return { status: 200, headers, body: format === "html" ? html : new Uint8Array(await print(html, format, signal)) };
  } catch (error) {
    const line = wordsOf(error);
    return { status: 503, headers: { ...PAGE_HEADERS, "Content-Type": "text/plain; charset=utf-8" }, body: `${line}\n` };
  }
}
