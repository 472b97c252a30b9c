/** One-time links that turn into a session cookie. A link works once; a wrong or used one gives null. */
import { randomBytes, timingSafeEqual } from "node:crypto";

export interface EntryLinks {
  /** The path of a fresh link; the one before is void. */
  fresh(): string;
  /** Spends a token: the Set-Cookie value of a new session, or null. */
  spend(token: string | null): string | null;
  /** Whether a Cookie header names an open session. */
  known(cookieHeader: string | undefined): boolean;
}

/** 128 bits: beyond guessing. */
const TOKEN_BYTES = 16;
const token = () => randomBytes(TOKEN_BYTES).toString("base64url");

function equal(a: string, b: string): boolean {
  const left = Buffer.from(a);
  const right = Buffer.from(b);
  return left.length === right.length && timingSafeEqual(left, right);
}

/** Cookies are shared between ports of a host, so the name carries the port. */
export function createEntryLinks(port: number): EntryLinks {
  const cookieName = `gripbook-${port}`;
  const sessions: string[] = [];
  let current: string | null = null;
  return {
    fresh() {
      current = token();
      return `/enter?token=${current}`;
    },
    spend(given) {
      if (given === null || current === null || !equal(given, current)) return null;
      current = null;
      const session = token();
      sessions.push(session);
      return `${cookieName}=${session}; HttpOnly; SameSite=Strict; Path=/`;
    },
    known(header) {
      const given = (header ?? "").split(/;\s*/).find((part) => part.startsWith(`${cookieName}=`));
      return given !== undefined && sessions.some((session) => equal(given.slice(cookieName.length + 1), session));
    },
  };
}
