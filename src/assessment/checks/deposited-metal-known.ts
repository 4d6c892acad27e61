import { canonicalJson } from '../../dossier/canonical.js';
import { type Facts, revisionKey } from '../../dossier/facts.js';
import type { Build } from '../../kinds/lot.js';
import type { DepositedLimit } from '../../kinds/specification.js';
import { type IntervalGap, type MetalByInterval, metalByInterval } from '../deposited-metal.js';
import type { Validation } from '../validations.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft, Told } from './finding-draft.js';

/** So many standard uncertainties on either side. */
const COVERAGE = 2;

function findingsOf(
  lot: Facts,
  limit: DepositedLimit,
  build: Build,
  found: MetalByInterval | IntervalGap,
): FindingDraft[] {
  const common = {
    subjects: [subject('process-validation', limit.validation), subject('build', build.build)],
    effect: 'cannot be decided' as const,
    mayBeDecided: 'concession' as const,
    units: unitsOfBuild(lot, build.build),
  };
  const told = toldOf(limit, build);
  if ('code' in found) return [{ ...common, rule: found.code, facts: { ...told, ...moreOf(found) } }];
  const { low, high, uncertainty = 0 } = found.deposited;
  const [from, to] = [low - COVERAGE * uncertainty, high + COVERAGE * uncertainty];
  const [lower, upper] = [
    Number(limit.lower ?? Number.NEGATIVE_INFINITY),
    Number(limit.upper ?? Number.POSITIVE_INFINITY),
  ];
  if (from >= lower && to <= upper) return [];
  const facts = { ...told, validation: nameOf(found.validation), computed: canonicalJson([found.deposited]) };
  const isOutside = to < lower || from > upper;
  return [
    isOutside
      ? { ...common, rule: 'outside limits', facts, effect: 'does not conform' }
      : { ...common, rule: 'not decidable', facts },
  ];
}

const nameOf = ({ body }: Validation): string => revisionKey(body.validation, body.revision);

const toldOf = ({ property, lower, upper, ucum, validation }: DepositedLimit, { build }: Build): Told => ({
  ...{ property, build, validation, limitUnit: ucum },
  ...(lower === undefined ? {} : { lower }),
  ...(upper === undefined ? {} : { upper }),
});

function moreOf(gap: IntervalGap): Told {
  if (gap.code === 'validation does not hold') return { fault: canonicalJson(gap.fault) };
  const validation = nameOf(gap.validation);
  if (gap.code !== 'interval over') return { validation };
  return { validation, at: gap.shown.analysedAt, days: String(gap.ageDays), most: String(gap.shown.holdsDays) };
}

/** What the certificate says of the powder is not yet what was deposited of it (docs/trade.md 7.3). */
export const depositedMetalKnown: Check = {
  code: 'deposited-metal-known',
  since: 1,
  clause: 'ISO 13485:2016 7.5.6, 7.5.9.2, 8.2.6',
  moment: 'build',
  run(facts) {
    const all = metalByInterval(facts);
    const known = all.flatMap(({ limit, build, found }) =>
      'code' in found ? [] : [[limit.property, build.build, nameOf(found.validation)]],
    );
    return {
      findings: all.flatMap(({ limit, build, found }) => findingsOf(facts, limit, build, found)),
      basis: { properties: canonicalJson(known) },
      doesNotApply: all.length === 0,
    };
  },
};
