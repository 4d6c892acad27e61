import { NotFoundError } from '../base/errors.js';
import type { UnitState } from '../lots/unit-states.js';
import type { Proof } from '../people/proof.js';
import { UNIT_ACT_WORDS } from '../report/phrases/unit-acts.js';
import type { StateActs } from './state-acts.js';

/** What changes the state of units of a lot: one page each. The rules are those of `StateActs`. */
export interface UnitAct {
  readonly slug: string;
  /** Name in the table of authority. */
  readonly act: string;
  readonly title: string;
  readonly lead: string;
  readonly applies: (state: UnitState) => boolean;
  readonly run: (acts: StateActs, proof: Proof, lot: string, units: readonly string[], reason: string) => Promise<void>;
}

export const UNIT_ACTS: readonly UnitAct[] = [
  {
    slug: 'hold',
    act: 'place a hold',
    ...UNIT_ACT_WORDS.hold,
    applies: (state) => state.hold === null,
    run: (acts, proof, lot, units, reason) => acts.placeHold(proof, lot, units, reason),
  },
  {
    slug: 'lift-hold',
    act: 'lift a hold',
    ...UNIT_ACT_WORDS['lift-hold'],
    applies: (state) => state.hold !== null,
    run: (acts, proof, lot, units, reason) => acts.liftHold(proof, lot, units, reason),
  },
  {
    slug: 'revoke',
    act: 'revoke a release',
    ...UNIT_ACT_WORDS.revoke,
    applies: (state) => state.releasedFor.length > 0,
    run: (acts, proof, lot, units, reason) => acts.revokeRelease(proof, lot, units, reason),
  },
];

/** @throws NotFoundError when there is no such act. */
export function actBySlug(slug: string): UnitAct {
  const found = UNIT_ACTS.find((act) => act.slug === slug);
  if (!found) throw new NotFoundError('act on a lot', slug, 'in this program');
  return found;
}
