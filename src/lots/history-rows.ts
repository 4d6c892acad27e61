import { besideValues } from '../assessment/beside-values.js';
import { ownValues } from '../assessment/own-history.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { moments } from '../statistics/summary.js';
import type { RowTakenOut, RowValue, SummarisedValues } from '../store/histories.js';

/**
 * What the lot adds to the history of its family: lot files of later lots and trends never reread its results. The values of
 * a build count with the lot in which it was made, and never a second time with one that was split from it.
 */
export function historyRows(facts: Facts): SummarisedValues[] {
  if (facts.lot.body.splitFrom !== undefined) return [];
  const own = ownValues(facts);
  const beside = besideValues(facts, own);
  return own.map(({ item, build, context, values, bounds, takenOut }, index) => {
    const numbers = values.map((row) => Number(row.value));
    const known = numbers.length === 0 ? undefined : moments(numbers);
    return {
      family: facts.family.body.family,
      characteristic: item.characteristic,
      build: build.build,
      builtAt: build.closedAt,
      context: canonicalJson(context),
      n: numbers.length,
      mean: known?.mean ?? null,
      sumSquaredDeviations: known?.sumSquares ?? null,
      min: known?.min ?? null,
      max: known?.max ?? null,
      censored: bounds.length,
      values: values.map((row): RowValue => [row.specimen, row.piece, Number(row.replicate), Number(row.value)]),
      takenOut: takenOut.map(({ result: { specimen, piece, replicate, value }, cause, decidedBy }): RowTakenOut => {
        return [specimen, piece, Number(replicate), value, cause, decidedBy];
      }),
      beside: beside[index]!,
    };
  });
}
