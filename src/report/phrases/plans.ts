import type { PlanVerdict } from '../../assessment/assessment.js';
import type { ValidationFault } from '../../assessment/reasons.js';
import { timeText } from '../../dossier/time-text.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import type { Characteristic, Plan } from '../../kinds/specification.js';
import { besideLimits, indexText, spreadText } from './rounded.js';
import { gapText } from './values.js';

/** An outcome that only one rule has tells which plan it was. */
type ZeroAcceptance = Extract<Plan, { rule: 'zero-acceptance' }>;
type Validated = Extract<Plan, { rule: 'process-validation' }>;

/** `zero acceptance, 0.95 confidence, 0.9 reliability` */
export function planRuleText(plan: Plan): string {
  if (plan === 'every-unit') return 'every unit';
  switch (plan.rule) {
    case 'zero-acceptance':
      return `zero acceptance, ${shareText(plan)}`;
    case 'single-sampling':
      return `single sampling, n = ${plan.n}, c = ${plan.accept}`;
    case 'variables':
      return `variables, unknown sigma, n = ${plan.n}, k = ${plan.k}`;
    case 'tolerance-interval':
      return `tolerance interval, ${shareText(plan)}`;
    case 'process-validation':
      return `process validation ${plan.validation}, ${shareText(plan)}`;
  }
}

const shareText = ({
  confidence,
  reliability,
}: {
  readonly confidence: string;
  readonly reliability: string;
}): string => `${confidence} confidence, ${reliability} reliability`;

/** What a plan says of its values together. */
export function planText(item: Characteristic, verdict: PlanVerdict): string {
  const { outcome, numbers, validation } = verdict;
  switch (outcome) {
    case 'counted':
    case 'accepted':
    case 'not accepted':
    case 'within the guard band':
      return decidedText(item, verdict);
    case 'no uncertainty':
      return 'the decision rule is guarded and a measurement uncertainty is missing';
    case 'gaps':
      return gapsAfter('', item, verdict);
    case 'only bounds':
      return verdict.rule === 'process-validation'
        ? 'a value reported as below or above a bound cannot show that the process has not moved'
        : `${numbers.bounds} of ${numbers.found} values are reported only as below or above a bound`;
    case 'too few values':
      return `${numbers.found} values, the plan needs ${numbers.needed}`;
    case 'no spread':
      return 'all values are equal: the spread is zero';
    case 'specimens open':
      return `${numbers.open} specimens cannot be decided${gapsAfter(': ', item, verdict)}`;
    case 'too few specimens':
      return verdict.rule === 'zero-acceptance'
        ? `${numbers.conforming} specimens conform, ${numbers.needed} are needed`
        : `${numbers.conforming! + numbers.failing!} specimens are there, ${numbers.n} are needed`;
    case 'build too small':
      return `a build of ${numbers.units} units cannot show a reliability of ${(item.plan as ZeroAcceptance).reliability}`;
    case 'value outside':
      return 'a value misses its limits: the process may have moved';
    case 'validation not to be relied on':
      return validationFaultText(validation!);
    case 'nothing shown':
      return `${(item.plan as Validated).validation} shows nothing of ${item.title}`;
    case 'limits not shown':
      return `${(item.plan as Validated).validation} does not show it: mean ± ${indexText(numbers.k!, '0.001')} sd leaves the limits`;
    case 'value open':
      return 'a value of this lot cannot be decided';
    case 'moved':
      return `${numbers.moved} values lie outside ${besideLimits(numbers.checkFrom, item)} to ${besideLimits(numbers.checkTo, item)}: the process may have moved`;
  }
}

/** What a plan says that could look at all its values. */
function decidedText(item: Characteristic, verdict: PlanVerdict): string {
  const { rule, outcome, numbers } = verdict;
  switch (rule) {
    case 'every-unit':
      return `${numbers.conforming} of ${numbers.planned} planned values conform; each must${gapsAfter('. ', item, verdict)}`;
    case 'zero-acceptance':
      return outcome === 'accepted'
        ? `${numbers.conforming} specimens conform, ${numbers.needed} are needed, none fails`
        : `${numbers.failing} specimens fail, none may`;
    case 'single-sampling':
      return outcome === 'accepted'
        ? `${numbers.failing} of ${numbers.conforming! + numbers.failing!} specimens fail, at most ${numbers.accept} may`
        : `${numbers.failing} specimens fail, at most ${numbers.accept} may`;
    case 'variables':
      return `mean ${besideLimits(numbers.mean, item)}, standard deviation ${spreadText(numbers.sd!)} of ${numbers.n} values: ${outcome} (assumes normal values)`;
    case 'tolerance-interval': {
      const { lowerBound, upperBound } = numbers;
      const bounds = [
        ...(lowerBound === undefined ? [] : [`lower bound ${besideLimits(lowerBound, item)}`]),
        ...(upperBound === undefined ? [] : [`upper bound ${besideLimits(upperBound, item)}`]),
      ].join(', ');
      const open = outcome === 'within the guard band' ? `: ${outcome}` : '';
      return `${bounds}${spacedUnit(item.ucum)} from ${numbers.n} values, k = ${indexText(numbers.k!, '0.001')} (assumes normal values)${open}`;
    }
    case 'process-validation':
      return `all ${numbers.values} values lie within ${besideLimits(numbers.checkFrom, item)} to ${besideLimits(numbers.checkTo, item)} of the pool`;
  }
}

function gapsAfter(before: string, item: Characteristic, { gaps, furtherGaps }: PlanVerdict): string {
  if (gaps.length === 0) return '';
  const more = furtherGaps > 0 ? [`and ${furtherGaps} more specimens`] : [];
  return before + [...gaps.map((gap) => gapText(item, gap)), ...more].join('; ');
}

/** Why a process validation may not be relied on for a build. */
export function validationFaultText({ code, facts }: ValidationFault): string {
  const name = `process validation ${facts.validation}`;
  switch (code) {
    case 'not in the lot file':
      return `${name} is not in the lot file`;
    case 'not approved':
      return `${name} is not approved`;
    case 'approved after the build':
      return `${name} was approved at ${timeText(facts.approvedAt)}, after the chamber was closed at ${timeText(facts.closedAt)}`;
    case 'not valid on the build date':
      return `${name} is valid from ${timeText(facts.from)} to ${timeText(facts.until)}, the chamber was closed at ${timeText(facts.closedAt)}`;
  }
}
