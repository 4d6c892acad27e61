import type { ReleaseStep } from '../dossier/release-step.js';
import type { Family } from '../kinds/family.js';
import type { Lot } from '../kinds/lot.js';
import type { Gate } from './assessment.js';

/**
 * What an implant has to have gone through before it may leave the maker, by what its family is (docs/trade.md 2.11):
 * ISO 13485:2016 7.5.2, 7.5.5, 7.5.7 and 7.5.11 and 21 CFR 820.45 ask for it on whatever legal route.
 */
export function gatesOf(
  { sterile }: Pick<Family, 'sterile'>,
  lot: Pick<Lot, 'steps' | 'labels'>,
  serial: string,
): Gate[] {
  const isDone = (wanted: 'clean' | 'pack') =>
    lot.steps.some(({ step, parts }) => step === wanted && (parts === undefined || parts.includes(serial)));
  const state = (passed: boolean) => (passed ? ('passed' as const) : ('open' as const));
  return [
    { gate: 'clean', state: state(isDone('clean')) },
    { gate: 'pack', state: state(isDone('pack')) },
    // That a step was done can be said of it, and not that a load was accepted: no version so far records that. Process
    // loads belong here, where each gate says what passes it; and the steps that the route of a family asks, above.
    ...(sterile === 'sterile' ? [{ gate: 'sterilise' as const, state: 'not recorded' as const }] : []),
    { gate: 'label', state: state(lot.labels?.inspected !== undefined && lot.labels.used > 0) },
  ];
}

/** Steps for which a route asks a release: what is sterilised is released for that first. */
export const stepsAsked = (gates: readonly Pick<Gate, 'gate'>[]): ReleaseStep[] => [
  ...(gates.some(({ gate }) => gate === 'sterilise') ? (['sterilisation'] as const) : []),
  'distribution',
];

/** Whether an implant is released as far as this version can let it go: it cannot record every gate. */
export function isReleasedAsFarAsCanBe(family: Pick<Family, 'sterile'>, releasedFor: readonly ReleaseStep[]): boolean {
  const gates = gatesOf(family, { steps: [], labels: undefined }, '');
  const steps = stepsAsked(gates);
  const last = gates.some(({ state }) => state === 'not recorded') ? steps.at(-2) : steps.at(-1);
  return last !== undefined && releasedFor.includes(last);
}

/** Gates that keep an implant from being distributed. */
export const gatesOpen = (gates: readonly Gate[]): Gate[] => gates.filter(({ state }) => state !== 'passed');
