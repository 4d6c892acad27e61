import { isAfter } from '../assessment/checks/check.js';
import type { Calibration } from '../kinds/instrument.js';

/** The time in which something may have been off. */
export interface ImpactInterval {
  readonly from: string;
  readonly to: string;
  /** What it follows from; null where it was asked for. */
  readonly because:
    | { readonly code: 'found off'; readonly certificate: string; readonly lastGood: string | null }
    | { readonly code: 'not found off'; readonly lastGood: string | null }
    | { readonly code: 'all' }
    | null;
}

/**
 * The time to look at of an instrument: from the last calibration that found it right to the one that found it off, or to
 * now where none did.
 */
export function intervalOf(calibrations: readonly Calibration[], now: string): ImpactInterval {
  const inOrder = [...calibrations].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  const off = inOrder.findLast(({ asFound }) => asFound === 'out of tolerance');
  const before = inOrder.filter(({ at }) => off === undefined || isAfter(off.at, at));
  const lastGood = before.findLast(({ asFound }) => asFound === 'in tolerance');
  const from = (lastGood ?? before[0])?.at ?? EARLIEST;
  const named = lastGood?.certificate ?? null;
  return off === undefined
    ? { from, to: now, because: { code: 'not found off', lastGood: named } }
    : { from, to: off.at, because: { code: 'found off', certificate: off.certificate, lastGood: named } };
}

/** Before anything that a cell has on record. */
export const EARLIEST = '1970-01-01T00:00:00Z';
