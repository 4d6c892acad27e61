import type { ApartValue } from '../../dossier/beside-values.js';
import type { FamilyValue } from '../../dossier/family-history.js';
import { readReported } from '../../dossier/reported-value.js';
import type { Characteristic } from '../../kinds/specification.js';
import { moments } from '../../statistics/summary.js';
import { stored } from '../performance.js';
import type { StudyInput, StudyRow } from './study-input.js';
import type { StudyChart, StudyNote } from './study-result.js';

/** Values of several types of part as the plan brings them together, and what keeps them apart. */
export interface Together {
  readonly rows: readonly StudyRow[];
  readonly baseline: readonly FamilyValue[];
  /** With limits and target on the scale of the values; without limits where types have none in common. */
  readonly item: Characteristic;
  readonly scale: StudyChart['scale'];
  /** What an index is of: the same, but as measured where types have no limits in common, and an index stands for each alone. */
  readonly indexed: { readonly rows: readonly StudyRow[]; readonly item: Characteristic };
  readonly typesAlone: boolean;
  readonly notes: readonly StudyNote[];
}

/** The type of part of a row: the specification by which its lot is judged. */
export const typeOf = ({ beside: { judged } }: StudyRow): string => judged?.specification ?? '';

/**
 * As they are, as deviations from the nominal value of each lot, or standardised with the spread that its type had in the
 * baseline (docs/trade.md 6.2).
 * @param rows that the pool of the plan admits.
 */
export function typesTogether(
  { plan, characteristic: item, baseline }: StudyInput,
  rows: readonly StudyRow[],
): Together {
  const indexed = { rows, item };
  const asTheyAre = {
    rows,
    baseline,
    item,
    scale: 'as they are' as const,
    indexed,
    typesAlone: false,
    notes: twoNominals(rows),
  };
  if (plan.standardise === 'no') return asTheyAre;
  if (plan.standardise === 'by type') return standardised(asTheyAre);
  const missing = [...new Set(rows.filter((row) => nominalOf(row, item) === undefined).map(({ lot }) => lot))];
  if (missing.length > 0) {
    return { ...asTheyAre, notes: [...asTheyAre.notes, { code: 'no nominal value', facts: { lots: missing } }] };
  }
  const less = (limit: string | undefined, nominal: number) =>
    limit === undefined ? undefined : String(stored(Number(limit) - nominal));
  const nominal = Number(item.target);
  const own = { lower: less(item.lower, nominal), upper: less(item.upper, nominal) };
  const alike = rows.every(({ beside: { judged } }) => {
    if (judged === undefined || judged.target === null) return true;
    const of = Number(judged.target);
    return less(judged.lower ?? undefined, of) === own.lower && less(judged.upper ?? undefined, of) === own.upper;
  });
  const shiftedItem = { ...withLimits(item, alike ? own : {}), target: '0' };
  const shifted = rows.map((row) => shiftedBy(row, nominalOf(row, item)!, 1));
  return {
    rows: shifted,
    baseline: baseline.map((one) => ({ ...one, value: stored(one.value - Number(one.nominal ?? item.target)) })),
    item: shiftedItem,
    scale: 'deviation from nominal',
    indexed: alike ? { rows: shifted, item: shiftedItem } : indexed,
    typesAlone: !alike,
    notes: [...asTheyAre.notes, ...(alike ? [] : [APART])],
  };
}

const APART: StudyNote = { code: 'limits differ by type', facts: {} };

/** The characteristic by the limits of one type, as its latest lot is judged. */
export function itemOfType(item: Characteristic, rows: readonly StudyRow[]): Characteristic {
  const judged = rows.at(-1)?.beside.judged;
  return judged === undefined
    ? item
    : withLimits(item, { lower: judged.lower ?? undefined, upper: judged.upper ?? undefined });
}

const nominalOf = ({ beside: { judged } }: StudyRow, item: Characteristic): number | undefined => {
  const text = judged === undefined ? item.target : (judged.target ?? undefined);
  return text === undefined ? undefined : Number(text);
};

function shiftedBy(row: StudyRow, centre: number, spread: number): StudyRow {
  const moved = (value: number) => stored((value - centre) / spread);
  const { apart } = row.beside;
  return {
    ...row,
    values: row.values.map((one) => ({ ...one, value: moved(one.value) })),
    beside: apart === undefined ? row.beside : { ...row.beside, apart: apart.map((one) => movedApart(one, moved)) },
  };
}

function movedApart(one: ApartValue, moved: (value: number) => number): ApartValue {
  const { qualifier, number } = readReported(one.value);
  return { ...one, value: `${qualifier}${moved(Number(number))}` };
}

/** Each type against target and spread of its own; a type without target, against its mean in the baseline. */
function standardised({ rows, baseline, item, indexed, notes }: Together): Together {
  const spreads = new Map<string, { readonly centre: number; readonly sd: number }>();
  for (const type of new Set(baseline.map((one) => one.type ?? ''))) {
    const own = baseline.filter((one) => (one.type ?? '') === type);
    const { mean, sd, n } = moments(own.map(({ value }) => value));
    if (n < 2 || sd === 0) continue;
    spreads.set(type, { centre: own[0]!.nominal === undefined ? mean : Number(own[0]!.nominal), sd });
  }
  const without = [...new Set(rows.map(typeOf))].filter((type) => !spreads.has(type));
  const scaled = (type: string, value: number) => {
    const { centre, sd } = spreads.get(type)!;
    return stored((value - centre) / sd);
  };
  return {
    rows: rows
      .filter((row) => spreads.has(typeOf(row)))
      .map((row) => shiftedBy(row, spreads.get(typeOf(row))!.centre, spreads.get(typeOf(row))!.sd)),
    baseline: baseline.flatMap((one) =>
      spreads.has(one.type ?? '') ? [{ ...one, value: scaled(one.type ?? '', one.value) }] : [],
    ),
    item: withLimits(item, {}),
    scale: 'standardised',
    indexed,
    typesAlone: true,
    notes: [
      ...notes,
      APART,
      ...(without.length === 0 ? [] : [{ code: 'type without spread' as const, facts: { types: without } }]),
    ],
  };
}

function withLimits(
  { lower: _, upper: __, target: ___, ...item }: Characteristic,
  { lower, upper }: { readonly lower?: string | undefined; readonly upper?: string | undefined },
): Characteristic {
  return { ...item, ...(lower === undefined ? {} : { lower }), ...(upper === undefined ? {} : { upper }) };
}

function twoNominals(rows: readonly StudyRow[]): StudyNote[] {
  const known = new Map<string, string>();
  const lots = new Set<string>();
  for (const { lot, beside } of rows) {
    const target = beside.judged?.target ?? '';
    if ((known.get(lot) ?? target) !== target) lots.add(lot);
    known.set(lot, target);
  }
  return lots.size === 0 ? [] : [{ code: 'two nominal values', facts: { lots: [...lots] } }];
}
