import type { PowderShare } from '../../assessment/powder-shares.js';
import { indexText } from './rounded.js';

const percent = (fraction: number): string => `${indexText(100 * fraction, '0.1')} %`;

/** Mass fractions of receipts: `R-101 52.0 %, R-117 48.0 %`. */
export const sharesText = (shares: readonly PowderShare[]): string =>
  shares.map(({ receipt, fraction }) => `${receipt} ${percent(fraction)}`).join(', ');

/** How much of it never went through a machine. */
export const virginText = (fraction: number | undefined): string => (fraction === undefined ? '' : percent(fraction));
