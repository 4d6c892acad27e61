import { needed } from './contradictions.js';
import type { Contradiction } from './kind.js';

/** 21 USC 360j(b) counts custom devices by type and year: without the type nobody can count. */
export function typeToCount(
  given: { readonly law: string; readonly route: string; readonly deviceType?: string | undefined },
  field: string,
): Contradiction[] {
  if (given.law !== 'US' || given.route !== 'custom-made') return [];
  const at = field === '' ? 'deviceType' : `${field}.deviceType`;
  return needed(at, given.deviceType, 'the law US counts custom-made devices by type', 'the type of device');
}

/** 21 USC 360j(b)(2)(B): at most five units of a type a year; the fourth is told. */
export const MOST_A_YEAR = 5;
const TOLD_FROM = 4;

export const isNearYearlyLimit = (cases: number): boolean => cases >= TOLD_FROM;
