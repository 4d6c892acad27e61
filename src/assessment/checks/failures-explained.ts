import type { Facts } from '../../dossier/facts.js';
import { type CharacteristicVerdict, counts, type ValueVerdict } from '../assessment.js';
import { coverageOf } from '../coverage.js';
import { logFindingsOf } from '../log-findings.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

interface Failed {
  readonly characteristic: string;
  readonly value: ValueVerdict;
}

/** Values of coupons that do not conform, each once: a coupon may stand for several implants. */
function failuresByCoupon({ lot }: Facts, verdicts: readonly CharacteristicVerdict[]): Map<string, Failed[]> {
  const coupons = new Set(lot.body.coupons.map(({ coupon }) => coupon));
  const found = new Map<string, Map<number, Failed>>();
  for (const { characteristic, values } of verdicts) {
    for (const value of values) {
      const { row, verdict } = value;
      const fails = counts(value) && verdict === 'does not conform';
      if (row === null || !fails || !coupons.has(value.specimen)) continue;
      const own = found.get(value.specimen) ?? new Map<number, Failed>();
      found.set(value.specimen, own.set(row, { characteristic, value }));
    }
  }
  return new Map([...found].map(([coupon, rows]) => [coupon, [...rows.values()]]));
}

/** Coupons that an excursion touched: who decides on that has the failure before them. */
function touchedCoupons(facts: Facts): Set<string> {
  const serious = logFindingsOf(facts).filter(({ level }) => level !== 'alert');
  return new Set(serious.flatMap((finding) => coverageOf(facts, finding).coupons));
}

/**
 * A coupon that failed tells of something in its making or in its test. Where no excursion touched it, nobody knows yet
 * what, nor what else it touched: two people look for the cause and sign it (docs/trade.md 4.9). No verdict on the value
 * turns by that.
 * @param verdicts of every implant in every characteristic, as `acceptAll` gives them.
 */
export const failuresExplained = (verdicts: readonly CharacteristicVerdict[]): Check => ({
  code: 'failures-explained',
  since: 1,
  clause: 'ISO 13485:2016 8.3, 8.5.2; FDA guidance on out-of-specification results',
  moment: 'release',
  run(facts) {
    const failures = failuresByCoupon(facts, verdicts);
    const touched = failures.size === 0 ? new Set() : touchedCoupons(facts);
    const unexplained = [...failures].filter(([coupon]) => !touched.has(coupon));
    return {
      findings: unexplained.map(([coupon, failed]): FindingDraft => {
        const { standsFor } = facts.lot.body.coupons.find((item) => item.coupon === coupon)!;
        return {
          rule: 'failed without a cause',
          subjects: [subject('coupon', coupon)],
          facts: {
            coupon,
            characteristics: [...new Set(failed.map(({ characteristic }) => characteristic))].join(', '),
            values: failed.map(({ value }) => value.value).join(', '),
            implants: standsFor.join(', '),
          },
          effect: 'cannot be decided',
          mayBeDecided: 'decision',
          units: standsFor,
        };
      }),
      basis: { coupons: String(failures.size), logFindings: String(failures.size - unexplained.length) },
      doesNotApply: facts.lot.body.coupons.length === 0,
    };
  },
});
