import { digestOf } from '../../dossier/canonical.js';
import type { Facts } from '../../dossier/facts.js';
import { readReported } from '../../dossier/reported-value.js';
import { specimenText } from '../../dossier/tables.js';
import type { Characteristic } from '../../kinds/specification.js';
import { planRuleText, planText } from '../../report/phrases/plans.js';
import { valueText } from '../../report/phrases/values.js';
import type { CharacteristicVerdict, Effect, ValueVerdict } from '../assessment.js';
import { type Check, CONCEDE, type FindingDraft, subject } from './check.js';

/**
 * What values and plans say against implants. Missing values are told by the check of completeness.
 * @param verdicts of every implant in every characteristic, as `acceptAll` gives them.
 */
export const valuesAccepted = (verdicts: readonly CharacteristicVerdict[]): Check => ({
  code: 'acceptance',
  title: 'Every characteristic accepted by its plan',
  clause: 'ISO 13485:2016 8.2.6, 8.3',
  moment: 'release',
  asks: 'Does each implant keep the limits of each characteristic, by its decision rule and its plan?',
  run(facts) {
    const found = new Map<string, FindingDraft & { units: string[] }>();
    for (const verdict of verdicts.filter(({ openUntil }) => openUntil === null)) {
      for (const draft of reasonsOf(facts, verdict)) {
        const known = found.get(draft.says);
        if (known) known.units.push(verdict.unit);
        else found.set(draft.says, { ...draft, units: [verdict.unit] });
      }
    }
    const count = (name: CharacteristicVerdict['verdict']) => verdicts.filter(({ verdict }) => verdict === name).length;
    return {
      findings: [...found.values()],
      basis: `${count('conforms')} conform, ${count('does not conform')} do not, ${count('cannot be decided')} cannot be decided, of ${verdicts.length} implants by characteristics`,
      ...(verdicts.length === 0 ? { doesNotApply: 'a build without implants' } : {}),
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
  if (value.row === null || value.role === 'invalid test' || value.verdict === 'conforms') return false;
  return plan.rule === 'every-unit' || value.verdict === verdict;
}

function valueDraft(
  facts: Facts,
  item: Characteristic,
  values: readonly ValueVerdict[],
  value: ValueVerdict,
): FindingDraft {
  const where = `${item.title} of ${specimenText(value)}, replicate ${value.replicate}`;
  const row = facts.results[value.row! - 1]!;
  return {
    rule: value.verdict === 'does not conform' ? 'outside limits' : 'not decidable',
    subjects: [subject('result', String(value.row)), subject('specimen', value.specimen)],
    facts: { characteristic: item.characteristic, value: row.value, evidence: row.evidence, line: row.line },
    effect: value.verdict as Effect,
    mayBeDecided: 'concession',
    says: `${where}: ${value.value} ${item.ucum}, ${valueText(item, value)}.`,
    clearedBy:
      value.verdict === 'does not conform'
        ? `${CONCEDE} A repeat counts only under a retest rule approved beforehand.`
        : `${whatDecides(facts, item, judgedWith(item, values, value))} ${CONCEDE}`,
    units: [],
  };
}

/** A mean is judged by all values of its specimen, any other value by itself. */
const judgedWith = (item: Characteristic, values: readonly ValueVerdict[], value: ValueVerdict): ValueVerdict[] =>
  item.averaging === 'mean'
    ? values.filter(({ specimen, role, row }) => specimen === value.specimen && role !== 'invalid test' && row !== null)
    : [value];

/** What would decide values that cannot be decided: what they lack, and nothing that they have. */
function whatDecides(facts: Facts, item: Characteristic, values: readonly ValueVerdict[]): string {
  const { method, decision } = item;
  const rows = values.map(({ row }) => facts.results[row! - 1]!);
  if (rows.some((row) => row.method !== method.method || Number(row.methodRevision) !== method.revision)) {
    return `Analyst: measure by ${method.method} revision ${method.revision}, as planned.`;
  }
  if (decision.rule === 'guarded' && rows.some((row) => row.standardUncertainty === '')) {
    return 'Analyst: give the measurement uncertainty, or measure by a method that can decide.';
  }
  if (rows.some((row) => readReported(row.value).qualifier !== '')) {
    return 'Analyst: measure by a method that gives a number where the limit lies.';
  }
  return 'Analyst: measure by a method with a smaller uncertainty: the value lies within the guard band.';
}

function planDecides(
  item: Characteristic,
  values: readonly ValueVerdict[],
  plan: CharacteristicVerdict['plan'],
): string {
  if (plan.outcome === 'no uncertainty') return 'Analyst: give the measurement uncertainty of every value.';
  if (values.some(({ row }) => row === null)) return 'Analyst: take in what is missing.';
  if (plan.outcome === 'within the guard band') return 'Analyst: measure by a method with a smaller uncertainty.';
  return item.plan !== 'every-unit' && item.plan.rule === 'process-validation'
    ? 'Process engineer: find out whether the process has moved, or validate it for this.'
    : 'Analyst: complete the sample that the plan asks for.';
}

function planDraft(item: Characteristic, { plan, values }: CharacteristicVerdict): FindingDraft {
  return {
    rule: plan.verdict === 'does not conform' ? 'plan not met' : 'plan not decidable',
    subjects: [subject('characteristic', item.characteristic)],
    facts: {
      characteristic: item.characteristic,
      plan: digestOf(item.plan),
      outcome: plan.outcome,
      stands: digestOf(plan),
    },
    effect: plan.verdict as Effect,
    mayBeDecided: 'concession',
    says: `${item.title} by ${planRuleText(item.plan)}: ${planText(item, plan)}.`,
    clearedBy: plan.verdict === 'does not conform' ? CONCEDE : `${planDecides(item, values, plan)} ${CONCEDE}`,
    units: [],
  };
}
