import type { Case } from './case.js';
import type { Family } from './family.js';

/** A law under which units of a case are used, with the route that they take there. */
export type LawOfCase = NonNullable<Family['laws']>[number];

/**
 * Under which laws the units of a case are used. The law of the place counts where the case names it; else every law that
 * the family names. None where neither names one: what a law asks is then asked by nobody.
 */
export function lawsOfCase(
  { laws, route }: Pick<Family, 'laws' | 'route'>,
  { usedUnder }: Pick<Case, 'usedUnder'>,
): readonly LawOfCase[] {
  if (laws === undefined) return usedUnder === undefined ? [] : [{ law: usedUnder, route }];
  return usedUnder === undefined ? laws : laws.filter(({ law }) => law === usedUnder);
}

/** Whether a unit is made for one patient by a design of their own: on every route but that of devices from stock. */
export const isMadeForOne = ({ route }: Pick<LawOfCase, 'route'>): boolean => route !== 'market';

/** Whether two names are of one legal entity, as far as one can tell: written alike but for capitals and spaces. */
export const isSameEntity = (one: string, other: string): boolean => plain(one) === plain(other);

const plain = (name: string): string => name.trim().toLowerCase().replace(/\s+/g, ' ');
