import { digestOf } from '../../../src/dossier/canonical.js';
import type { SignedStatement } from '../../../src/dossier/statement.js';
import { closurePart, dispositionPart, type Nonconformity } from '../../../src/kinds/nonconformity.js';
import { statement } from '../signed-facts.js';

const AT = '2031-03-04T10:00:00+01:00';

/** A nonconformity of the first implant of lot `L-1`, decided and closed. All invented. */
export const NONCONFORMITY = {
  kind: 'nonconformity',
  format: 1,
  nonconformity: 'NC-1',
  opened: { by: 'P-OP', at: '2031-03-04T09:00:00+01:00' },
  says: 'a scratch on the face (invented)',
  touches: [{ kind: 'implant', key: 'L-1-I1' }],
  evaluation: { cause: 'a tool (invented)', riskFile: 'no', by: 'P-QE', at: AT },
  disposition: [{ units: ['L-1-I1'], as: 'no effect', justification: 'below the limit (invented)' }],
  closure: { by: 'P-QE', at: AT, says: 'all was done (invented)' },
};

/** How far a nonconformity went. */
export type SignedSoFar = 'all' | 'half' | 'rejected' | 'not closed' | 'none';

/** What process and quality sign on it. */
export function signaturesOn(body: Nonconformity, signed: SignedSoFar = 'all'): SignedStatement[] {
  const [disposition, closure] = [dispositionPart(body, digestOf), closurePart(body, digestOf)];
  const deciders = signed === 'none' ? [] : signed === 'half' ? ['P-PE'] : ['P-PE', 'P-QE'];
  const outcome = signed === 'rejected' ? 'rejected' : 'accepted';
  return [
    ...(disposition
      ? deciders.map((by) => statement('decided', { ...disposition, revision: null }, by, { outcome }))
      : []),
    ...(closure && signed === 'all' ? [statement('approved', { ...closure, revision: null }, 'P-QE')] : []),
  ];
}
