import type { ApartValue, BesideValues, Judged, Nonconforming } from '../dossier/beside-values.js';
import type { Facts } from '../dossier/facts.js';
import type { Characteristic } from '../kinds/specification.js';
import { MadeHow } from './made.js';
import { dispositionOf, nonconformitiesOf } from './nonconformities.js';
import type { OwnValues } from './own-history.js';
import type { NumberedResult } from './specimens.js';

/** What the history tells beside each batch of values, in their order. */
export function besideValues(facts: Facts, own: readonly OwnValues[]): BesideValues[] {
  const made = new MadeHow(facts);
  const refused = nonconformingSpecimens(facts);
  return own.map(({ item, build, values, bounds, takenOut, again }) => {
    const measured = [...values, ...bounds, ...takenOut.map(({ result }) => result), ...again.map((one) => one.result)];
    const apart = [
      ...bounds.map((result) => apartOf(result, 'bound')),
      ...again.map(({ result, why }) => apartOf(result, why)),
    ];
    const specimens = [...new Set(values.map(({ specimen }) => specimen))];
    const nonconforming = specimens.flatMap((specimen) => refused.get(specimen) ?? []);
    return {
      made: made.of(build, measured),
      judged: judgedBy(facts, item),
      ...(apart.length === 0 ? {} : { apart }),
      ...(nonconforming.length === 0 ? {} : { nonconforming }),
    };
  });
}

const apartOf = ({ specimen, piece, replicate, value }: NumberedResult, why: ApartValue['why']): ApartValue => ({
  ...{ specimen, piece, replicate: Number(replicate), value, why },
});

const judgedBy = ({ specification: { body } }: Facts, { lower, upper, target }: Characteristic): Judged => ({
  ...{ specification: body.specification, revision: body.revision },
  ...{ lower: lower ?? null, upper: upper ?? null, target: target ?? null },
});

/** Implants of which a signed disposition says that they do not conform, and coupons that stand for such ones alone. */
function nonconformingSpecimens(facts: Facts): ReadonlyMap<string, Nonconforming> {
  const found = new Map<string, Nonconforming>();
  for (const { document, decided, units } of nonconformitiesOf(facts)) {
    if (decided?.outcome !== 'accepted') continue;
    const decidedBy = [...new Set(decided.statements.map(({ person }) => person.code))].sort();
    const touched = document.body.touches.flatMap(({ kind, key }) => (kind === 'coupon' ? [key] : []));
    for (const specimen of [...units, ...touched]) {
      const disposition = dispositionOf(document.body, specimen);
      if (disposition === undefined || disposition.as === 'no effect' || found.has(specimen)) continue;
      found.set(specimen, { specimen, nonconformity: document.body.nonconformity, as: disposition.as, decidedBy });
    }
  }
  for (const { coupon, standsFor } of facts.lot.body.coupons) {
    const [first] = standsFor.map((serial) => found.get(serial));
    if (first && standsFor.every((serial) => found.has(serial)) && !found.has(coupon)) {
      found.set(coupon, { ...first, specimen: coupon });
    }
  }
  return found;
}
