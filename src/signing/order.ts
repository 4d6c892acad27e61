import type { Meaning } from '../dossier/statement.js';
import type { Objection } from '../report/phrases/objections.js';
import type { Situation } from './situation.js';

/** That a person has signed exactly this already: asking again is no attempt at anything, and becomes no entry. */
export function isSignedBy(person: string, { act, earlier }: Situation): boolean {
  if (act.meaning === 'released' || act.meaning === 'rejected') return false;
  return earlier.some((one) => one.meaning === act.meaning && one.person.code === person);
}

/** Why the order of things forbids a person to sign this now, whatever units are meant; undefined when it does not. */
export function orderObjection({ signable, act, earlier }: Situation, person: string): Objection | undefined {
  const isSigned = (meaning: Meaning) => earlier.some((one) => one.meaning === meaning);
  if (signable.refused !== undefined) return signable.refused;
  if (act.order.includes('authored') && !isSigned('performed')) {
    return { code: 'not authored' };
  }
  if (act.order.includes('measured') && !signable.analysts?.includes(person)) {
    return { code: 'no analyst', facts: { person } };
  }
  if (act.order.includes('reviewed') && !isSigned('reviewed')) {
    return { code: 'not reviewed' };
  }
  return undefined;
}
