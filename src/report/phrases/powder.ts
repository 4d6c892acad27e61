import type { PowderShare } from '../../assessment/powder-shares.js';
import { sharesText } from './powder-shares.js';

/** `Powder of M1-101, by mass: R-1 62.5 %, R-2 37.5 %`. */
export const powderText = ({ of, shares }: { readonly of: string; readonly shares: readonly PowderShare[] }): string =>
  `Powder of ${of}, by mass: ${sharesText(shares)}`;
