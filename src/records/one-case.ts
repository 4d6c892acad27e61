import { type Carried, carriedBy, type Facts } from '../dossier/facts.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import type { StateNote } from './enclosure.js';

/**
 * What a copy for the institution of one case says: of the implants of that case and of the lot as a whole, and nothing of
 * other implants. A whole record, with the case null, leaves nothing out.
 */

type OfLot = Pick<Lot, 'implants'>;

/** Serials of the implants that are told of. */
export const shownSerials = ({ implants }: OfLot, forCase: string | null): string[] =>
  implants.filter((implant) => forCase === null || implant.case === forCase).map(({ serial }) => serial);

/** Whether a part of the lot is told of. A coupon always is: it stands for the lot, and so do builds and all else. */
export function isShown(lot: OfLot, forCase: string | null): (part: string) => boolean {
  const others = new Set(
    lot.implants.filter((implant) => forCase !== null && implant.case !== forCase).map(({ serial }) => serial),
  );
  return (part) => !others.has(part);
}

/** What the lot file carries, with the parts of the cases that are told of. */
export function carriedFor({ dossier, caseParts }: Facts, forCase: string | null): Carried {
  return carriedBy(dossier, new Map([...caseParts].filter(([code]) => forCase === null || code === forCase)));
}

/** Statements on the lot as a whole, and on implants that are told of. One on several implants stays whole: it was signed so. */
export const statementsFor = (
  signatures: readonly SignedStatement[],
  lot: OfLot,
  forCase: string | null,
): SignedStatement[] => {
  const shown = isShown(lot, forCase);
  return signatures.filter(({ statement: { units } }) => units.length === 0 || units.some(shown));
};

/** What befell the lot as a whole, and implants that are told of. Why an act was refused may name implants of other cases. */
export function statesFor(states: readonly StateNote[], lot: OfLot, forCase: string | null): StateNote[] {
  const shown = isShown(lot, forCase);
  return states.flatMap((state) => {
    if (state.what === 'act-refused' && forCase !== null) return [];
    const units = state.units.filter(shown);
    if (units.length === 0 && state.units.length > 0) return [];
    const { turned, text, ...note } = state;
    // A hold says of others no more than that they are held, as what people sign does.
    const isTold = forCase === null || state.what === 'hold-placed';
    const whole = isTold && text !== undefined ? { text } : {};
    if (!turned) return [{ ...note, units, ...whole }];
    const implants = turned.implants.filter(({ serial }) => shown(serial));
    return [{ ...note, units, ...whole, turned: { ...turned, implants } }];
  });
}
