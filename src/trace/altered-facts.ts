import { compareDecimal, sumDecimals } from '../base/decimal.js';
import { AppError, BadInputError } from '../base/errors.js';
import { convertDifference } from '../base/units.js';
import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import type { ResultRow } from '../dossier/tables.js';
import { shapeChange } from '../kinds/degradation/shape-change.js';
import { shapeDeviation, shapeKey } from '../kinds/degradation/shape-deviation.js';
import type { ShapeScan } from '../kinds/lot-after-build.js';

export interface QuantityText {
  readonly value: string;
  readonly ucum: string;
}

/** What is done to results before they are assessed again. */
export interface Alteration {
  /** They are left out. */
  readonly without: boolean;
  /** By how much they read too much: it is taken off each value. */
  readonly bias: QuantityText | undefined;
  /** Standard uncertainty that they have at least. */
  readonly uncertainty: QuantityText | undefined;
}

export const altersNothing = ({ without, bias, uncertainty }: Alteration): boolean =>
  !without && bias === undefined && uncertainty === undefined;

/**
 * The facts of a lot with some of its results altered, for the same rules to assess. Nothing else of them changes, and they
 * are nowhere stored.
 * @param touches whether a result is altered; only current ones are asked for.
 * @param scans those that nobody measured, as far as these facts go: no bias of a whole scan says where its points lie.
 * @throws BadInputError for a bias or an uncertainty in a unit that the values cannot be converted to.
 */
export function alteredFacts(
  facts: Facts,
  touches: (row: ResultRow) => boolean,
  alteration: Alteration,
  scans: readonly ShapeScan[],
): Facts {
  const results = facts.results.map((row) =>
    row.status === 'current' && touches(row) ? altered(row, alteration) : row,
  );
  // Read on the first use as ever: the long tables are none of this.
  return Object.defineProperties({} as Facts, {
    ...Object.getOwnPropertyDescriptors(facts),
    results: { value: results, enumerable: true },
    ...(scans.length === 0 ? {} : { caseParts: { value: withoutShapes(facts, scans), enumerable: true } }),
  });
}

function withoutShapes({ caseParts }: Facts, scans: readonly ShapeScan[]): Facts['caseParts'] {
  const keys = new Set(scans.map(shapeKey));
  const isKept = ({ kind, key }: { readonly kind: string; readonly key: string }) =>
    (kind !== shapeDeviation.kind && kind !== shapeChange.kind) || !keys.has(key);
  return new Map([...caseParts].map(([code, part]) => [code, { ...part, pinned: part.pinned.filter(isKept) }]));
}

function altered(row: ResultRow, { without, bias, uncertainty }: Alteration): ResultRow {
  // Corrected results keep their place in the table and are judged no more.
  if (without) return { ...row, status: 'corrected' };
  return {
    ...row,
    ...(bias === undefined ? {} : { value: lessBias(row, inUnitOf(row, '--bias', bias)) }),
    ...(uncertainty === undefined
      ? {}
      : { standardUncertainty: larger(row.standardUncertainty, inUnitOf(row, '--uncertainty', uncertainty)) }),
  };
}

function lessBias({ value }: ResultRow, bias: string): string {
  const { qualifier, number } = readReported(value);
  const negated = bias.startsWith('-') ? bias.slice(1) : `-${bias.replace(/^\+/, '')}`;
  return compareDecimal(bias, '0') === 0 ? value : `${qualifier}${sumDecimals([number, negated])}`;
}

const larger = (known: string, asked: string): string =>
  known !== '' && compareDecimal(known, asked) >= 0 ? known : asked;

function inUnitOf({ characteristic, ucum }: ResultRow, field: string, { value, ucum: given }: QuantityText): string {
  try {
    return convertDifference(value, given, ucum);
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    throw new BadInputError([
      {
        code: 'unit',
        field,
        found: `${value} ${given}`,
        expected: `a unit that converts to ${ucum}, in which ${characteristic} is judged`,
        remedy: 'state by how much the judged values are off, or assess without these results',
      },
    ]);
  }
}
