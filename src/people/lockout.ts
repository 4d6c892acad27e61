import { AppError } from '../base/errors.js';
import type { LockoutKey, LockoutRow } from '../store/identity-rows.js';
import type { Change } from '../store/repositories.js';
import type { Store } from '../store/store.js';

/** So many failures in a row cost nothing: people mistype. */
export const FREE_FAILURES = 4;
export const FIRST_WAIT_S = 30;
export const LONGEST_WAIT_S = 15 * 60;
/** Failures of one person from all places together from which they never signed in; beyond them all such places wait. */
export const FREE_ELSEWHERE = 20;
export const LONGEST_WAIT_ELSEWHERE_S = 60 * 60;
/** A place from which the person proved who they are is known for so long. */
const KNOWN_PLACE_MS = 90 * 24 * 3_600_000;
/** A row of failures ends after so long without one. */
const ROW_ENDS_MS = 24 * 3_600_000;

/** So long a row is kept of a place from which nobody signed in. */
const KEPT_MS = 7 * 24 * 3_600_000;

const ago = (now: Date, ms: number): string => new Date(now.getTime() - ms).toISOString();

/** Seconds to wait after so many failures in a row: none at first, then doubling up to a quarter of an hour. */
export const waitAfterS = (failures: number): number => doublingS(failures - FREE_FAILURES, LONGEST_WAIT_S);

/** The same for all places together from which the person never signed in: up to an hour. */
export const waitElsewhereS = (failures: number): number =>
  doublingS(failures - FREE_ELSEWHERE, LONGEST_WAIT_ELSEWHERE_S);

const doublingS = (beyond: number, longestS: number): number =>
  beyond <= 0 ? 0 : Math.min(longestS, FIRST_WAIT_S * 2 ** (beyond - 1));

/**
 * Who tries, and from where. Both are codes, the same for identifiers that nobody has: so nothing tells them apart, and
 * what somebody typed in the wrong field stands nowhere.
 */
export interface Attempt {
  readonly person: string;
  readonly origin: string;
  /** Whoever is signed in, or at the machine, waits for their own failures alone. */
  readonly isInside: boolean;
}

/** Stands for all places together from which a person never signed in. */
const ELSEWHERE = '';

export function attemptOf({ secret }: Store, person: string, origin: Origin): Attempt {
  return {
    person: codeOfPerson(secret, person),
    origin: secret.code('where from', origin.kind, origin.name),
    isInside: origin.kind !== 'address',
  };
}

const codeOfPerson = (secret: Store['secret'], person: string): string => secret.code('who tried', person);

/** Where an attempt comes from. */
export interface Origin {
  readonly kind: 'address' | 'session' | 'machine';
  readonly name: string;
}

/** Where commands run. */
export const AT_MACHINE: Origin = { kind: 'machine', name: '' };

/**
 * Counts an attempt as failed before it is judged, so that many at once are not all let through. Waiting grows for the
 * place that tries, and for all places together from which the person never signed in: so whoever guesses from elsewhere
 * keeps nobody out who is signed in, at the machine, or where they have been before.
 * @throws AppError LOCKED which says how long to wait; then nothing was counted.
 */
export async function countAttempt(change: Change, attempt: Attempt, now: Date): Promise<void> {
  const { person, origin, isInside } = attempt;
  const own = await change.identity.lockout({ person, origin });
  const isKnown = isInside || (own?.provedAt != null && now.getTime() - Date.parse(own.provedAt) < KNOWN_PLACE_MS);
  const others = isKnown ? undefined : await change.identity.lockout({ person, origin: ELSEWHERE });
  const refusal = lockRefusal(own, now) ?? lockRefusal(others, now);
  if (refusal) throw refusal;
  if (own === undefined) {
    await change.identity.dropLockouts({ failedBefore: ago(now, KEPT_MS), provedBefore: ago(now, KNOWN_PLACE_MS) });
  }
  await change.identity.setLockout(failedAgain({ person, origin }, own, now, waitAfterS));
  if (isKnown) return;
  await change.identity.setLockout(failedAgain({ person, origin: ELSEWHERE }, others, now, waitElsewhereS));
}

function failedAgain(
  key: LockoutKey,
  row: LockoutRow | undefined,
  now: Date,
  waitS: (failures: number) => number,
): LockoutRow {
  const isInRow = row !== undefined && now.getTime() - Date.parse(row.lastFailureAt) < ROW_ENDS_MS;
  const failures = (isInRow ? row.failures : 0) + 1;
  const wait = waitS(failures);
  return {
    ...key,
    failures,
    failuresEver: (row?.failuresEver ?? 0) + 1,
    lastFailureAt: now.toISOString(),
    lockedUntil: wait === 0 ? null : new Date(now.getTime() + wait * 1000).toISOString(),
    provedAt: row?.provedAt ?? null,
  };
}

/** Takes back the attempt that turned out right, with the row of failures of its place; from now on the place is known. */
export async function clearAttempts(change: Change, { person, origin }: Attempt, now: Date): Promise<void> {
  const own = await change.identity.lockout({ person, origin });
  if (!own) return;
  const failuresEver = Math.max(0, own.failuresEver - 1);
  const provedAt = now.toISOString();
  await change.identity.setLockout({ ...own, failures: 0, failuresEver, lockedUntil: null, provedAt });
  const others = own.provedAt === null ? await change.identity.lockout({ person, origin: ELSEWHERE }) : undefined;
  if (!others) return;
  const failures = Math.max(0, others.failures - 1);
  await change.identity.setLockout({ ...others, failures, failuresEver: others.failuresEver - 1, lockedUntil: null });
}

/** Whoever has a new password begins anew, wherever they are. */
export async function clearPerson(change: Change, { secret }: Store, person: string): Promise<void> {
  await change.identity.clearLockouts(codeOfPerson(secret, person));
}

/** What failed of one person, from all places. */
export type Failures = Pick<LockoutRow, 'failuresEver' | 'lastFailureAt' | 'lockedUntil'>;

/** Failures of people who have accounts, and how many there were of identifiers that nobody has. */
export async function failuresOf(
  { read, secret }: Store,
  people: readonly string[],
): Promise<{ of: (person: string) => Failures | undefined; unknown: number }> {
  const byCode = new Map<string, Failures>();
  for (const row of await read.identity.lockouts()) {
    if (row.origin === ELSEWHERE) continue;
    const before = byCode.get(row.person);
    byCode.set(row.person, {
      failuresEver: row.failuresEver + (before?.failuresEver ?? 0),
      lastFailureAt: later(row.lastFailureAt, before?.lastFailureAt ?? '') ?? '',
      lockedUntil: later(row.lockedUntil, before?.lockedUntil ?? null),
    });
  }
  const known = new Map(people.map((person) => [person, codeOfPerson(secret, person)]));
  const codes = new Set(known.values());
  const unknown = [...byCode].reduce((sum, [code, { failuresEver }]) => sum + (codes.has(code) ? 0 : failuresEver), 0);
  return { of: (person) => byCode.get(known.get(person) ?? ''), unknown };
}

const later = (one: string | null, other: string | null): string | null => ((one ?? '') > (other ?? '') ? one : other);

/** Why nobody may try now, or undefined when they may. */
function lockRefusal(row: LockoutRow | undefined, now: Date): AppError | undefined {
  if (!row || row.lockedUntil === null) return undefined;
  const waitS = Math.ceil((Date.parse(row.lockedUntil) - now.getTime()) / 1000);
  if (waitS <= 0) return undefined;
  const message = `too many attempts failed for this identifier: wait ${waitText(waitS)}, then try again`;
  return new AppError('LOCKED', message, { waitS });
}

function waitText(seconds: number): string {
  if (seconds < 60) return seconds === 1 ? '1 second' : `${seconds} seconds`;
  const minutes = Math.ceil(seconds / 60);
  return minutes === 1 ? '1 minute' : `${minutes} minutes`;
}
