import type { Person } from '../kinds/person.js';
import type { Receipt } from '../kinds/receipt.js';
import { digestOf } from './canonical.js';
import type { SignedSubject } from './statement.js';

/**
 * What exactly a signature on a thing covers. Running entries grow: a receipt gets a field more, a person another
 * training. A signature on such a thing covers only the part that was decided on, so that later facts void nothing.
 */

interface Revised {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
  readonly digest: string;
}

/** A revision that carries its own number, or a result set: the whole of it. */
export const revisionSubject = ({ kind, key, revision, digest }: Revised): SignedSubject => ({
  kind,
  key,
  revision,
  digest,
});

/** The certificate of a receipt, as it was transcribed. Whoever is said to have checked it is not part of it. */
export function certificateSubject({ receipt, certificate }: Receipt): SignedSubject | undefined {
  if (!certificate) return undefined;
  const { checkedBy: _, ...transcribed } = certificate;
  return { kind: 'certificate', key: receipt, revision: null, digest: digestOf({ receipt, ...transcribed }) };
}

/** The acceptance or rejection of a receipt: what it is, its status and its certificate. */
export function receiptSubject(body: Receipt): SignedSubject {
  const { kind, receipt, supplier, material, supplierLot, heats, status, expiry } = body;
  const certificate = certificateSubject(body)?.digest ?? '';
  const covered = { receipt, supplier, material, supplierLot, heats, status, expiry: expiry ?? '', certificate };
  return { kind, key: receipt, revision: null, digest: digestOf(covered) };
}

export type Qualification = Person['qualifications'][number];

/** One operation that one person is trained for, with its dates. */
export function qualificationSubject(person: string, qualification: Qualification): SignedSubject {
  const { operation, from, to = '', evidence = '' } = qualification;
  return {
    kind: 'qualification',
    key: `${person}:${operation}`,
    revision: null,
    digest: digestOf({ person, operation, from, to, evidence }),
  };
}

/**
 * A finding of a log scan, many such findings that are alike, or a finding of a release check. Its identity is already a
 * digest: over rule, subjects and facts, or over those of the members.
 */
export const findingSubject = (
  kind: 'log finding' | 'log finding group' | 'check finding',
  key: string,
  id: string,
): SignedSubject => ({
  kind,
  key,
  revision: null,
  digest: id,
});

/** The frozen lot file: what is reviewed, and what units are released or rejected on. */
export const lotFileSubject = (lot: string, dossierSha256: string): SignedSubject => ({
  kind: 'lot file',
  key: lot,
  revision: null,
  digest: dossierSha256,
});
