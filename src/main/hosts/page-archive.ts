/**
 * A page as an archive of one part (RFC 2557, MHTML). Chromium gives such a page its strictest sandbox: no script, no forms, no navigation,
 * and nothing is loaded that is not in the archive, not even files of this machine. Pure; never fails.
 */

const BOUNDARY = "gripbook-page";
/** RFC 2045, section 6.8: at most 76 letters a line. */
const LINE = /.{1,76}/g;

export function pageArchive(html: string): string {
  const body = Buffer.from(html, "utf8").toString("base64").match(LINE) ?? [];
  return [
    "MIME-Version: 1.0",
    `Content-Type: multipart/related; type="text/html"; boundary="${BOUNDARY}"`,
    "",
    `--${BOUNDARY}`,
    'Content-Type: text/html; charset="utf-8"',
    "Content-Transfer-Encoding: base64",
    "Content-Location: http://report.invalid/",
    "",
    ...body,
    `--${BOUNDARY}--`,
    "",
  ].join("\r\n");
}
