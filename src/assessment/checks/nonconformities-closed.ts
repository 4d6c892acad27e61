import type { ClaimNote } from '../assessment.js';
import { dispositionOf, type NonconformityOfLot, nonconformitiesOf } from '../nonconformities.js';
import { approvalOf } from '../signed.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const nonconformitiesClosed: Check = {
  code: 'nonconformities-closed',
  since: 1,
  clause: 'ISO 13485:2016 8.3.1 to 8.3.4',
  moment: 'release',
  run(facts) {
    const own = nonconformitiesOf(facts);
    const claims = own.flatMap(({ document: { key }, closed }): ClaimNote[] =>
      closed ? [approvalOf('nonconformity', key, { how: 'signed', by: closed.person.code, at: closed.at })] : [],
    );
    return {
      findings: own.flatMap(findingsOf),
      claims,
      basis: { nonconformities: String(own.length) },
      doesNotApply: own.length === 0,
    };
  },
};

/** An open nonconformity holds back all that it touches; of a closed one only what was scrapped or sent back. */
function findingsOf(one: NonconformityOfLot): FindingDraft[] {
  const { key, body } = one.document;
  const finding = (rule: string, units: readonly string[], told: FindingDraft['facts'] = {}): FindingDraft => ({
    rule,
    subjects: [subject('nonconformity', key)],
    facts: { nonconformity: key, ...told },
    effect: 'blocks release',
    units,
  });
  const open = openBecause(one);
  if (open !== undefined) return [finding(open, one.units)];
  return one.units.flatMap((unit) => {
    const as = dispositionOf(body, unit)?.as;
    return as === 'scrap' || as === 'return' ? [finding('not to be released', [unit], { unit, disposition: as })] : [];
  });
}

function openBecause({ document: { body }, decided, closed }: NonconformityOfLot): string | undefined {
  if (body.evaluation === undefined) return 'not evaluated';
  if (body.disposition === undefined) return 'no disposition';
  if (decided?.outcome === 'rejected') return 'disposition rejected';
  if (decided?.outcome !== 'accepted') return 'disposition not decided';
  if (body.closure === undefined) return 'not closed';
  return closed ? undefined : 'closure not approved';
}
