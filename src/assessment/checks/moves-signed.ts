import { revisionSubject } from '../../dossier/signable.js';
import { approvalOf, isGood, standingOf, unapproved } from '../signed.js';
import { type Check, subject } from './check.js';

/** A unit goes on in another lot only by a move that somebody answers for (docs/decisions/moved-units.md). */
export const movesSigned: Check = {
  code: 'moves-signed',
  since: 1,
  clause: 'ISO 13485:2016 7.5.8, 7.5.9',
  moment: 'release',
  run(facts) {
    const moves = [...facts.moves].map(([key, move]) => {
      const standing = standingOf(facts, revisionSubject({ ...move, kind: 'unit-move', key }), undefined);
      return { key, units: move.body.implants ?? [], standing };
    });
    return {
      findings: moves.flatMap(
        ({ key, units, standing }) =>
          unapproved(standing, { subjects: [subject('unit-move', key)], facts: { move: key }, units }) ?? [],
      ),
      claims: moves.flatMap(({ key, standing }) => (isGood(standing) ? [approvalOf('unit-move', key, standing)] : [])),
      basis: { moves: String(moves.length) },
      doesNotApply: moves.length === 0,
    };
  },
};
