import type { Known } from '../assessment/deposited-metal.js';
import { DEPOSITED } from './phrases/deposited.js';
import { besideSpread, spreadText } from './phrases/rounded.js';

/** A number, or the ends between which it lies, with its uncertainty. */
export function knownText({ low, high, uncertainty }: Known): string {
  const spread = uncertainty === undefined || uncertainty === 0 ? undefined : uncertainty;
  if (low !== high) {
    const between = DEPOSITED.between(numberText(low), Number.isFinite(high) ? numberText(high) : null);
    return spread === undefined ? between : DEPOSITED.withUncertainty(between, spreadText(spread));
  }
  if (spread === undefined) return numberText(low);
  return DEPOSITED.withUncertainty(besideSpread(low, spread).replace('-', '−'), spreadText(spread));
}

const SHOWN_DIGITS = 4;
export const numberText = (value: number): string => String(Number(value.toPrecision(SHOWN_DIGITS))).replace('-', '−');
