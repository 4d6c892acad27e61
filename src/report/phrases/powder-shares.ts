import type { HeatShare } from '../../assessment/heat-shares.js';
import type { PowderShare } from '../../assessment/powder-shares.js';
import { indexText } from './rounded.js';

const TENTHS_OF_A_PERCENT = 1000;

/**
 * Fractions as per cent to one decimal that add up to what the fractions add up to: each is rounded down, and what is
 * missing goes to those that lost most. A share that is too small for a tenth is told as below it.
 */
export function percentParts(fractions: readonly number[]): string[] {
  const exact = fractions.map((fraction) => fraction * TENTHS_OF_A_PERCENT);
  const parts = exact.map(Math.floor);
  const sum = (numbers: readonly number[]) => numbers.reduce((all, one) => all + one, 0);
  const missing = Math.round(sum(exact)) - sum(parts);
  const byLoss = exact.map((value, index) => ({ index, lost: value - parts[index]! })).sort((a, b) => b.lost - a.lost);
  for (const { index } of byLoss.slice(0, missing)) parts[index]! += 1;
  return parts.map((part, index) => (part === 0 && fractions[index]! > 0 ? '<0.1' : (part / 10).toFixed(1)));
}

/** Mass fractions of receipts: `R-101 52.0 %, R-117 48.0 %`. */
export function sharesText(shares: readonly PowderShare[]): string {
  const parts = percentParts(shares.map(({ fraction }) => fraction));
  return shares.map(({ receipt }, index) => `${receipt} ${parts[index]} %`).join(', ');
}

/** Mass fractions in what builds took: `48.0 %`, and of several closures `48.0 % of M1-101, 20.0 % of M1-102`. */
export const buildSharesText = (shares: readonly { readonly build: string; readonly fraction: number }[]): string =>
  shares
    .map(({ build, fraction }) => `${percentParts([fraction])[0]} %${shares.length === 1 ? '' : ` of ${build}`}`)
    .join(', ');

/** Mass fractions of heats, each as text: `52.0 % H7731`. */
export function heatTexts(shares: readonly HeatShare[]): string[] {
  const parts = percentParts(shares.map(({ fraction }) => fraction));
  return shares.map(({ heats, receipts }, index) => `${parts[index]} % ${heats.join(' + ') || receipts.join(' + ')}`);
}

/** How much of it never went through a machine. */
export const virginText = (fraction: number | undefined): string =>
  fraction === undefined ? '' : `${indexText(100 * fraction, '0.1')} %`;
