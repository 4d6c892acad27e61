import { type KeyObject, randomBytes } from 'node:crypto';
import { sha256Hex } from '../dossier/canonical.js';
import type { FolderSecret } from '../store/folder-secret.js';
import { keyFromSeed, pemOf } from './own-key.js';

/** How long a link waits for the person to whom it was given. */
export const INVITATION_HOURS = 72;
/** How long the link waits that makes the first administrator. */
export const FIRST_LINK_HOURS = 24;

/** Digits of 256 bits in base64url. */
const RANDOM_LENGTH = 43;

/** A secret that opens one page once. The store knows only its SHA-256, so that nobody can read it back. */
export interface OneTimeLink {
  /** 256 random bits and a code over whom it is for and until when, both base64url. */
  readonly token: string;
  readonly tokenSha256: string;
  /** Time of the machine, ISO in UTC. */
  readonly expiresAt: string;
}

/**
 * @param person whom it is for; null for the first administrator.
 * @param hours for which it waits.
 */
export function makeLink(secret: FolderSecret, person: string | null, now: Date, hours: number): OneTimeLink {
  const random = randomBytes(32).toString('base64url');
  const expiresAt = new Date(now.getTime() + hours * 3_600_000).toISOString();
  const token = `${random}${secret.code('one-time link', random, person, expiresAt)}`;
  return { token, tokenSha256: sha256Hex(token), expiresAt };
}

/** Whether this folder made the link for this person, to work for so long, whatever the database says. */
export const isOwnLink = (secret: FolderSecret, token: string, person: string | null, expiresAt: string): boolean =>
  secret.isCode(token.slice(RANDOM_LENGTH), 'one-time link', token.slice(0, RANDOM_LENGTH), person, expiresAt);

/** Where the link leads, below the address of the service. */
export const linkPath = (token: string): string => `/set-up/${token}`;

/** The Ed25519 key whose private half are the random bits: what it signs, somebody signed who had the link. */
export const keyOfLink = (token: string): KeyObject =>
  keyFromSeed(Buffer.from(token.slice(0, RANDOM_LENGTH), 'base64url'));

/** What can be told of a link without giving it away. */
export const publicKeyOfLink = ({ token }: OneTimeLink): string => pemOf(keyOfLink(token));
