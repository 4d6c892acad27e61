import { canonicalJson, digestOf } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { readReported } from '../../dossier/reported-value.js';
import type { Characteristic } from '../../kinds/specification.js';
import { type CharacteristicVerdict, counts, type Effect, type ValueVerdict } from '../assessment.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/**
 * What values and plans say against implants. Missing values are told by the check of completeness.
 * @param verdicts of every implant in every characteristic, as `acceptAll` gives them.
 */
export const valuesAccepted = (verdicts: readonly CharacteristicVerdict[]): Check => ({
  code: 'acceptance',
  since: 1,
  clause: 'ISO 13485:2016 8.2.6, 8.3',
  moment: 'release',
  run(facts) {
    const found = new Map<string, FindingDraft & { units: string[] }>();
    for (const verdict of verdicts.filter(({ openUntil }) => openUntil === null)) {
      for (const draft of reasonsOf(facts, verdict)) {
        const id = digestOf({ rule: draft.rule, subjects: draft.subjects, facts: draft.facts });
        const known = found.get(id);
        if (known) known.units.push(verdict.unit);
        else found.set(id, { ...draft, units: [verdict.unit] });
      }
    }
    const count = (name: CharacteristicVerdict['verdict']) =>
      String(verdicts.filter(({ verdict }) => verdict === name).length);
    return {
      findings: [...found.values()],
      basis: {
        conform: count('conforms'),
        doNot: count('does not conform'),
        open: count('cannot be decided'),
        of: String(verdicts.length),
      },
      doesNotApply: verdicts.length === 0,
    };
  },
});

function reasonsOf(facts: Facts, verdict: CharacteristicVerdict): FindingDraft[] {
  if (verdict.verdict === 'conforms') return [];
  const item = facts.specification.body.characteristics.find(
    ({ characteristic }) => characteristic === verdict.characteristic,
  )!;
  const values = verdict.values
    .filter((value) => tellsWhy(verdict, value))
    .map((value) => valueDraft(facts, item, verdict.values, value));
  if (item.plan === 'every-unit' || verdict.plan.verdict === 'conforms') return values;
  return [planDraft(item, verdict), ...values];
}

/** By a plan that looks at all values together, single values explain only a failure. */
function tellsWhy({ verdict, plan }: CharacteristicVerdict, value: ValueVerdict): boolean {
  if (value.row === null || !counts(value) || value.verdict === 'conforms') return false;
  return plan.rule === 'every-unit' || value.verdict === verdict;
}

function valueDraft(
  facts: Facts,
  item: Characteristic,
  values: readonly ValueVerdict[],
  value: ValueVerdict,
): FindingDraft {
  const row = facts.results[value.row! - 1]!;
  return {
    rule: value.verdict === 'does not conform' ? 'outside limits' : 'not decidable',
    subjects: [subject('result', String(value.row)), subject('specimen', value.specimen)],
    facts: {
      characteristic: item.characteristic,
      asked: canonicalJson(item),
      specimen: value.specimen,
      piece: value.piece,
      replicate: String(value.replicate),
      value: value.value,
      judged: canonicalJson({ why: value.why, compared: value.compared }),
      evidence: row.evidence,
      line: row.line,
      ...(value.verdict === 'does not conform' ? {} : { lacks: lacksOf(facts, item, judgedWith(item, values, value)) }),
    },
    effect: value.verdict as Effect,
    mayBeDecided: 'concession',
    units: [],
  };
}

/** A mean is judged by all values of its specimen, any other value by itself. */
const judgedWith = (item: Characteristic, values: readonly ValueVerdict[], value: ValueVerdict): ValueVerdict[] =>
  item.averaging === 'mean'
    ? values.filter((one) => one.specimen === value.specimen && counts(one) && one.row !== null)
    : [value];

/** What would decide values that cannot be decided: what they lack, and nothing that they have. */
function lacksOf(facts: Facts, item: Characteristic, values: readonly ValueVerdict[]): string {
  const { method, decision } = item;
  const rows = values.map(({ row }) => facts.results[row! - 1]!);
  if (rows.some((row) => row.method !== method.method || Number(row.methodRevision) !== method.revision)) {
    return 'method';
  }
  if (decision.rule === 'guarded' && rows.some((row) => row.standardUncertainty === '')) {
    return 'uncertainty';
  }
  if (rows.some((row) => readReported(row.value).qualifier !== '')) {
    return 'number';
  }
  return 'smaller uncertainty';
}

function planLacks(item: Characteristic, values: readonly ValueVerdict[], plan: CharacteristicVerdict['plan']): string {
  if (plan.outcome === 'no uncertainty') return 'uncertainty';
  if (values.some(({ row }) => row === null)) return 'values';
  if (plan.outcome === 'within the guard band') return 'smaller uncertainty';
  return item.plan !== 'every-unit' && item.plan.rule === 'process-validation' ? 'process' : 'sample';
}

function planDraft(item: Characteristic, { plan, values }: CharacteristicVerdict): FindingDraft {
  return {
    rule: plan.verdict === 'does not conform' ? 'plan not met' : 'plan not decidable',
    subjects: [subject('characteristic', item.characteristic)],
    facts: {
      characteristic: item.characteristic,
      asked: canonicalJson(item),
      plan: canonicalJson(plan),
      ...(plan.verdict === 'does not conform' ? {} : { lacks: planLacks(item, values, plan) }),
    },
    effect: plan.verdict as Effect,
    mayBeDecided: 'concession',
    units: [],
  };
}
