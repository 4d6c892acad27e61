import type { Problem } from '../base/errors.js';
import { bodyIf, type Known } from './known.js';
import type { ReadDocument } from './yaml-document.js';

/** Moves of units that cannot be: to a lot of another family, which is judged by other limits, or of what was never in the lot. */
export async function unitMoveProblems(documents: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const document of documents) {
    const move = bodyIf('unit-move', document);
    if (move === undefined) continue;
    const [from, to] = [await known.body('lot', move.fromLot), await known.body('lot', move.toLot)];
    // A lot that nobody knows is a problem of its own, found with the references.
    if (from === undefined) continue;
    const { file, lineOf } = document;
    const at = (field: string) => ({ file, line: lineOf(field), field });
    if (to !== undefined && to.family !== from.family) {
      problems.push({
        code: 'move-to-another-family',
        ...at('toLot'),
        found: `lot ${move.toLot} of family ${to.family}, and lot ${move.fromLot} of family ${from.family}`,
        expected: 'two lots of one family, which are judged alike',
        remedy: 'correct one of the two lots: what was built for one family is never released as another',
      });
    }
    const serials = from.implants.map(({ serial }) => serial);
    const coupons = from.coupons.map(({ coupon }) => coupon);
    const named = [
      ...(move.implants ?? []).map((part, index) => ({ part, field: `implants[${index}]`, own: serials })),
      ...(move.coupons ?? []).map((part, index) => ({ part, field: `coupons[${index}]`, own: coupons })),
    ];
    for (const { part, field, own } of named) {
      if (own.includes(part)) continue;
      problems.push({
        code: 'move-from-another-lot',
        ...at(field),
        found: `${part}, which lot ${move.fromLot} does not have`,
        expected: `a part of lot ${move.fromLot}`,
        remedy: 'correct the part, or the lot that it comes from',
      });
    }
  }
  return problems;
}
