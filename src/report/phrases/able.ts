import type { FamilyIndex, Silent } from '../../assessment/family/study-result.js';
import { percentText } from './capability.js';
import { indexText, lowerBoundText } from './rounded.js';

/** What the one sentence is made from. */
export type Able = Pick<
  FamilyIndex,
  'says' | 'ppk' | 'ppkLower' | 'confidence' | 'target' | 'more' | 'noCpk' | 'silent' | 'percentile'
>;

/** Why nothing is stated, where a sentence tells it. */
const SILENT: Readonly<Record<Silent, string>> = {
  'too few values': 'there are fewer than ten values',
  'all equal': 'all values are equal',
  'not normal': 'the values are not normal, and the plan names no other distribution',
  bounds: 'too much was reported only as a bound',
  'no fit': 'the distribution that the plan names fits no such values',
  'pool fails': 'what the plan pools does not belong together; each group has an index of its own',
  'types apart': 'types of part have no limits in common; each has an index of its own',
  'exposures differ': 'exposures of two sorts are among the values',
  'two nominal values': 'a lot has two nominal values',
  'two methods in a lot': 'a lot was measured by two methods',
  'no nominal value': 'a lot has no nominal value',
  'no lot of the plan': 'the plan admits no build',
};

/** The one sentence on top: able, not able, or too few. What the chart says of it follows. */
export function ableText(index: Able): string {
  const { says, ppk, ppkLower, confidence, target, more, percentile, noCpk, silent } = index;
  const asked = target ?? '1.33, since the plan names no target';
  switch (says) {
    case 'able':
      return `Able: with ${percentText(confidence)} confidence Ppk is at least ${lowerBoundText(ppkLower)}; asked for is ${asked}.${noCpk === 'signals' ? SHAKEN : ''}`;
    case 'not able':
      return `Not able: Ppk is ${indexText(ppk)}; asked for is ${asked}.`;
    case 'too few':
      return ppkLower === null
        ? `Too few builds to say: Ppk is ${indexText(ppk)}, and all values are of one build, which gives no bound; asked for is ${asked}.`
        : `Too few builds to say: Ppk is ${indexText(ppk)}, with ${percentText(confidence)} confidence at least ${lowerBoundText(ppkLower)}; asked for is ${asked}. ${moreText(more)}${noCpk === 'signals' ? MOVED : ''}`;
    case 'not stated':
      return percentile
        ? `Nothing is stated with confidence: by the percentile method Ppk is ${indexText(percentile.ppk)}, and no bound is known for it; asked for is ${asked}.`
        : ppk === null
          ? `Nothing is stated: ${SILENT[silent!]}.`
          : `Nothing is stated with confidence: Ppk is ${indexText(ppk)} if values are normal, which could not be tried beside those that are only bounds; asked for is ${asked}.`;
  }
}

/** An index tells what was made. */
const SHAKEN = ' The chart has signals: it was so, and nothing is said of what will be made.';

/** A sum over further builds takes it that they are like the ones before. */
const MOVED =
  ' The chart has signals: the process moved meanwhile, and the sum holds only while it stays as it was on the whole.';

function moreText(more: FamilyIndex['more']): string {
  if (more === null) return 'How many more builds would show it cannot be said.';
  if (more.builds === null) return 'More builds than anybody plans would not show it at the present index and spread.';
  return `About ${more.builds} more builds with ${indexText(more.perBuild, '0.1')} values each, at the present mean and spread, would bring the bound to ${more.target}.`;
}
