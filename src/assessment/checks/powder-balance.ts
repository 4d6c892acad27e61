import { compareDecimal, decimalText, parseDecimal, sumDecimals } from '../../base/decimal.js';
import type { Facts } from '../../dossier/facts.js';
import type { Build } from '../../kinds/lot.js';
import { strictestOf } from '../powder-limits.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** What was charged has to be there again: in parts, in powder that was recovered, or in waste. */
export const powderBalance: Check = {
  code: 'powder-balance',
  since: 1,
  clause: 'ISO 13485:2016 7.5.9.2',
  moment: 'sterilisation',
  run(facts) {
    const asked = facts.lot.body.builds
      .filter(({ state }) => state !== 'planned')
      .flatMap((build) =>
        build.powder.flatMap((powder) => {
          const most = strictestOf(facts, powder.state, 'balancePercent');
          return most === undefined ? [] : [{ build, powder, most }];
        }),
      );
    return {
      findings: asked.flatMap(({ build, powder, most }) => findingsOf(facts, build, powder, most)),
      basis: { builds: [...new Set(asked.map(({ build }) => build.build))].join(', ') },
      doesNotApply: asked.length === 0,
    };
  },
};

function findingsOf(facts: Facts, { build }: Build, powder: Build['powder'][number], most: string): FindingDraft[] {
  const { state, chargedG, depositedG, recoveredG, wasteG } = powder;
  const common = {
    subjects: [subject('build', build), subject('powder-state', state)],
    effect: 'cannot be decided' as const,
    units: unitsOfBuild(facts, build),
    mayBeDecided: 'concession' as const,
  };
  const told = { build, state, charged: chargedG, most };
  const weighed = { deposited: depositedG, recovered: recoveredG, waste: wasteG };
  const missing = Object.entries(weighed).flatMap(([name, massG]) => (massG === undefined ? [name] : []));
  if (missing.length > 0) return [{ ...common, rule: 'not weighed', facts: { ...told, missing: missing.join(', ') } }];
  const difference = sumDecimals([chargedG, `-${depositedG}`, `-${recoveredG}`, `-${wasteG}`]);
  // So that nothing is divided: 100 times the difference against charged times the per cent, exactly.
  const off = product(difference.replace('-', ''), '100');
  if (compareDecimal(off, product(chargedG, most)) <= 0) return [];
  return [
    {
      ...common,
      rule: 'does not add up',
      facts: { ...told, deposited: depositedG!, recovered: recoveredG!, waste: wasteG!, difference },
    },
  ];
}

function product(a: string, b: string): string {
  const [one, other] = [parseDecimal(a), parseDecimal(b)];
  return decimalText({ coefficient: one.coefficient * other.coefficient, scale: one.scale + other.scale });
}
