import type { PowderShare } from '../../assessment/powder-shares.js';
import { percentParts, sharesText } from './powder-shares.js';

/** `Powder of M1-101, by mass: R-1 62.5 %, R-2 37.5 %`. */
export const powderText = ({ of, shares }: { readonly of: string; readonly shares: readonly PowderShare[] }): string =>
  `Powder of ${of}, by mass: ${sharesText(shares)}`;

/** `Of it by mass in powder PS-01 100.0 %, PS-02 48.0 %`; empty where none was made of it. */
export const inStatesText = (shares: readonly { readonly state: string; readonly fraction: number }[]): string =>
  shares.length === 0
    ? ''
    : `Of it by mass in powder ${shares.map(({ state, fraction }) => `${state} ${percentParts([fraction])[0]} %`).join(', ')}`;
