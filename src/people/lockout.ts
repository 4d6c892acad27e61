import { AppError } from '../base/errors.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { LockoutRow } from '../store/identity-rows.js';
import type { Change } from '../store/repositories.js';

/** So many failures in a row cost nothing: people mistype. */
export const FREE_FAILURES = 4;
export const FIRST_WAIT_S = 30;
export const LONGEST_WAIT_S = 15 * 60;
/** NIST SP 800-63B, 5.2.2: no more than 100 failures in a row. After them only a new one-time link helps. */
export const MOST_FAILURES = 100;

/** Seconds to wait after so many failures in a row: none at first, then doubling up to a quarter of an hour. */
export function waitAfterS(failures: number): number {
  if (failures <= FREE_FAILURES) return 0;
  return Math.min(LONGEST_WAIT_S, FIRST_WAIT_S * 2 ** (failures - FREE_FAILURES - 1));
}

/**
 * Row in which the failures of an identifier are counted. Identifiers that nobody has are locked just as those that
 * somebody has, or a lock would tell them apart; they share a few thousand rows, so that guessing fills no disk.
 */
export function lockoutKey(person: string, isKnown: boolean): string {
  return isKnown ? person : `unknown:${sha256Hex(person).slice(0, 3)}`;
}

/**
 * Counts an attempt as failed before it is judged, so that many at once are not all let through.
 * @throws AppError LOCKED which says how long to wait; then nothing was counted.
 */
export async function countAttempt(change: Change, key: string, now: Date): Promise<void> {
  const row = await change.identity.lockout(key);
  const refusal = lockRefusal(row, now);
  if (refusal) throw refusal;
  const failures = (row?.failures ?? 0) + 1;
  const waitS = waitAfterS(failures);
  await change.identity.setLockout({
    person: key,
    failures,
    failuresEver: (row?.failuresEver ?? 0) + 1,
    lastFailureAt: now.toISOString(),
    lockedUntil: waitS === 0 ? null : new Date(now.getTime() + waitS * 1000).toISOString(),
  });
}

/** Takes back the attempt that turned out right, and with it the row of failures before it. */
export async function clearAttempts(change: Change, key: string): Promise<void> {
  const row = await change.identity.lockout(key);
  if (!row) return;
  const failuresEver = Math.max(0, row.failuresEver - 1);
  await change.identity.setLockout({ ...row, failures: 0, failuresEver, lockedUntil: null });
}

/** Why nobody may try now, or undefined when they may. */
export function lockRefusal(row: LockoutRow | null, now: Date): AppError | undefined {
  if (!row) return undefined;
  if (row.failures >= MOST_FAILURES) {
    return new AppError(
      'LOCKED',
      `${MOST_FAILURES} attempts in a row failed for this identifier: it is locked until an administrator makes a new one-time link`,
      { failures: row.failures },
    );
  }
  if (row.lockedUntil === null) return undefined;
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
