import { randomBytes } from 'node:crypto';
import { sha256Hex } from '../dossier/canonical.js';

/** How long a link waits for the person to whom it was given. */
export const INVITATION_HOURS = 72;
/** How long the link waits that makes the first administrator. */
export const FIRST_LINK_HOURS = 24;

/** A secret that opens one page once. The store knows only its SHA-256, so that nobody can read it back. */
export interface OneTimeLink {
  /** 256 random bits, base64url. */
  readonly token: string;
  readonly tokenSha256: string;
  /** Time of the machine, ISO in UTC. */
  readonly expiresAt: string;
}

export function makeLink(now: Date, hours: number): OneTimeLink {
  const token = randomBytes(32).toString('base64url');
  const expiresAt = new Date(now.getTime() + hours * 3_600_000).toISOString();
  return { token, tokenSha256: sha256Hex(token), expiresAt };
}

/** Where the link leads, below the address of the service. */
export const linkPath = (token: string): string => `/set-up/${token}`;
