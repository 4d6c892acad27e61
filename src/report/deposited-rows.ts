import { depositedMetal, type Known } from '../assessment/deposited-metal.js';
import type { Facts } from '../dossier/facts.js';
import { tradeUnit } from '../dossier/unit-text.js';
import { DEPOSITED } from './phrases/deposited.js';
import { besideSpread, spreadText } from './phrases/rounded.js';

/** The deposited metal beside the certificates of its powder, and what changed on the way. */
export interface DepositedRow {
  readonly property: string;
  readonly build: string;
  readonly certified: string;
  readonly deposited: string;
  readonly change: string;
}

export const depositedRows = (facts: Facts): DepositedRow[] =>
  depositedMetal(facts).map(({ characteristic, property, build, specimens, values, certified, deposited, change }) => {
    const unit = tradeUnit(characteristic.ucum);
    return {
      property: DEPOSITED.property(property, unit),
      build,
      certified: certified ? knownText(certified) : DEPOSITED.notStated,
      deposited: DEPOSITED.meanOf(knownText(deposited), values, specimens.join(', ')),
      change: change ? DEPOSITED.change(knownText(change), wordOf(change), percentOf(change, certified!)) : '',
    };
  });

/** A number, or the ends between which it lies, with its uncertainty. */
function knownText({ low, high, uncertainty }: Known): string {
  if (low !== high) return DEPOSITED.between(numberText(low), Number.isFinite(high) ? numberText(high) : null);
  if (uncertainty === undefined) return numberText(low);
  return DEPOSITED.withUncertainty(besideSpread(low, uncertainty).replace('-', '−'), spreadText(uncertainty));
}

const SHOWN_DIGITS = 4;
const numberText = (value: number): string => String(Number(value.toPrecision(SHOWN_DIGITS))).replace('-', '−');

/** Which way it went, where the numbers alone say so; twice the uncertainty may hide either. */
function wordOf({ low, high, uncertainty }: Known): keyof typeof DEPOSITED.words {
  const margin = uncertainty === undefined ? 0 : 2 * uncertainty;
  if (high + margin < 0) return 'less';
  return low - margin > 0 ? 'more' : 'open';
}

/** Of what went in; undefined where either is only known to lie between two ends. */
function percentOf(change: Known, certified: Known): string | undefined {
  if (change.low !== change.high || certified.low !== certified.high || certified.low === 0) return undefined;
  return numberText((100 * change.low) / certified.low);
}
