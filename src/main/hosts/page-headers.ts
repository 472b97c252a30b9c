/** Headers for every page, script and font of both hosts: nothing from elsewhere may run, load, frame or receive anything. */

const CONTENT_SECURITY_POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' data:",
  "font-src 'self'",
  "connect-src 'self'",
  "frame-src 'self'",
  "object-src 'none'",
  "base-uri 'none'",
  "frame-ancestors 'none'",
  "form-action 'none'",
  "require-trusted-types-for 'script'",
  "trusted-types 'none'",
].join("; ");

export const PAGE_HEADERS: Readonly<Record<string, string>> = {
  "Content-Security-Policy": CONTENT_SECURITY_POLICY,
  "X-Content-Type-Options": "nosniff",
  "Referrer-Policy": "no-referrer",
  "Cross-Origin-Resource-Policy": "same-origin",
  "Cross-Origin-Opener-Policy": "same-origin",
  "Permissions-Policy": "camera=(), microphone=(), geolocation=(), serial=(), usb=()",
  "Cache-Control": "no-store",
};

/** Over plain HTTP from another machine a browser ignores this one, and complains of it (HTML standard, "cross-origin opener policies"). */
const { "Cross-Origin-Opener-Policy": _ignored, ...others } = PAGE_HEADERS;
export const NETWORK_HEADERS: Readonly<Record<string, string>> = others;
