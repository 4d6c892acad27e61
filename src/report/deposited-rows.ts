import { depositedMetal, type Known, metalByInterval } from '../assessment/deposited-metal.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import { tradeUnit } from '../dossier/unit-text.js';
import { knownText, numberText } from './known-text.js';
import { DEPOSITED } from './phrases/deposited.js';

/** The deposited metal beside the certificates of its powder, and what changed on the way. */
export interface DepositedRow {
  readonly property: string;
  readonly build: string;
  readonly certified: string;
  readonly deposited: string;
  readonly change: string;
}

/** By analyses of this lot first, then by validated intervals. */
export const depositedRows = (facts: Facts): DepositedRow[] => [...analysed(facts), ...byInterval(facts)];

const byInterval = (facts: Facts): DepositedRow[] =>
  metalByInterval(facts).map(({ limit: { property, ucum, validation: code }, build: { build }, found }) => {
    const head = { property: DEPOSITED.property(property, tradeUnit(ucum)), build };
    if ('code' in found) return { ...head, certified: '', deposited: DEPOSITED.notBy(code), change: '' };
    const { validation, shown, ageDays, certified, change, deposited } = found;
    const by = revisionKey(validation.body.validation, validation.body.revision);
    return {
      ...head,
      certified: knownText(certified),
      deposited: DEPOSITED.byInterval(knownText(deposited), by, { ...shown, ageDays }),
      change: DEPOSITED.change(knownText(change), wordOf(change), percentOf(change, certified)),
    };
  });

const analysed = (facts: Facts): DepositedRow[] =>
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
