import type { Facts } from '../dossier/facts.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import type { Gate } from './assessment.js';
import { isAcceptedDone, isDone } from './loads.js';

/**
 * What an implant has to have gone through before it may leave the maker, by what its family is (docs/trade.md 2.11):
 * ISO 13485:2016 7.5.2, 7.5.5, 7.5.7 and 7.5.11 and 21 CFR 820.45 ask for it on whatever legal route.
 */
export function gatesOf(facts: Facts, serial: string): Gate[] {
  const { labels } = facts.lot.body;
  const state = (passed: boolean) => (passed ? ('passed' as const) : ('open' as const));
  return [
    { gate: 'clean', state: state(isDone(facts, serial, 'clean')) },
    { gate: 'pack', state: state(isDone(facts, serial, 'pack')) },
    ...(facts.family.body.sterile === 'sterile'
      ? [{ gate: 'sterilise' as const, state: state(isAcceptedDone(facts, serial, 'sterilise')) }]
      : []),
    { gate: 'label', state: state(labels?.inspected !== undefined && labels.used > 0) },
  ];
}

/** Steps for which a route asks a release: what is sterilised is released for that first. */
export const stepsAsked = (gates: readonly Pick<Gate, 'gate'>[]): ReleaseStep[] => [
  ...(gates.some(({ gate }) => gate === 'sterilise') ? (['sterilisation'] as const) : []),
  'distribution',
];

/** Gates that keep an implant from being distributed. */
export const gatesOpen = (gates: readonly Gate[]): Gate[] => gates.filter(({ state }) => state !== 'passed');
