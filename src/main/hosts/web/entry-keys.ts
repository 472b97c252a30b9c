/**
 * Decides who is let in. A link works once and gives a browser two parts: a cookie, and a key that only our own page has. Sockets need
 * both, since cookies are sent to every port of a machine (RFC 6265, section 8.5). Everything is computed from the launcher's secret, so
 * that a restarted host still knows its pages. What is wrong, foreign or used up gives null or false.
 */
import { createHmac, randomBytes, timingSafeEqual } from "node:crypto";

interface Entered {
  /** Names the used link. */
  readonly nonce: string;
  /** The Set-Cookie value. */
  readonly cookie: string;
  readonly key: string;
}

export interface EntryKeys {
  spend(token: string | null): Entered | null;
  /** The session that a Cookie header names. */
  session(cookieHeader: string | undefined): string | null;
  /** Whether the page's key belongs to the session. */
  fits(session: string, key: string): boolean;
  /** Lets one address be read once, for requests that cannot carry a key: a frame, a download. */
  pass(session: string): string;
  usePass(session: string, pass: string | null): boolean;
}

export interface EntryKeysOptions {
  /** 256 bits from the launcher, base64url. */
  readonly secret: string;
  readonly port: number;
  /** Links that were used before. */
  readonly spent: readonly string[];
}

/** 128 bits: cannot be guessed. */
const BYTES = 16;
/** A page asks for one and uses it at once. */
const MOST_PASSES = 64;

const random = () => randomBytes(BYTES).toString("base64url");

/** Includes the port: what a start gave for one port opens nothing on another. */
function proof({ secret, port }: Omit<EntryKeysOptions, "spent">, purpose: "link" | "session" | "cookie" | "page", of: string): string {
  return createHmac("sha256", secret).update(`${purpose} ${port} ${of}`).digest().subarray(0, BYTES).toString("base64url");
}

function equal(a: string, b: string): boolean {
  const left = Buffer.from(a);
  const right = Buffer.from(b);
  return left.length === right.length && timingSafeEqual(left, right);
}

/** A new link's token. */
export function freshToken(options: Omit<EntryKeysOptions, "spent">): string {
  const nonce = random();
  return `${nonce}.${proof(options, "link", nonce)}`;
}

/** `nonce.proof` or `session.proof`: the first part, if the second part is right. */
function proved(options: Omit<EntryKeysOptions, "spent">, purpose: "link" | "cookie", text: string): string | null {
  const [of = "", given = "", ...more] = text.split(".");
  return more.length === 0 && equal(given, proof(options, purpose, of)) ? of : null;
}

export function createEntryKeys(options: EntryKeysOptions): EntryKeys {
  const cookieName = `gripbook-${options.port}`;
  const spent = new Set(options.spent);
  const passes = new Map<string, string>();
  return {
    spend(token) {
      const nonce = proved(options, "link", token ?? "");
      if (nonce === null || spent.has(nonce)) return null;
      spent.add(nonce);
      const session = proof(options, "session", nonce);
      return {
        nonce,
        cookie: `${cookieName}=${session}.${proof(options, "cookie", session)}; HttpOnly; SameSite=Strict; Path=/`,
        key: proof(options, "page", session),
      };
    },
    session(header) {
      const given = (header ?? "").split(/;\s*/).find((part) => part.startsWith(`${cookieName}=`));
      return given === undefined ? null : proved(options, "cookie", given.slice(cookieName.length + 1));
    },
    fits: (session, key) => equal(key, proof(options, "page", session)),
    pass(session) {
      const pass = random();
      passes.set(pass, session);
      const [oldest] = passes.keys();
      if (passes.size > MOST_PASSES && oldest !== undefined) passes.delete(oldest);
      return pass;
    },
    usePass(session, pass) {
      if (pass === null || passes.get(pass) !== session) return false;
      return passes.delete(pass);
    },
  };
}
