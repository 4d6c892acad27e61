import { kindNamed } from '../kinds/catalogue.js';
import { type StockPart, stockAcceptancePart } from '../kinds/degradation/stock-part.js';
import { readBody } from '../kinds/formats.js';
import type { SignablePart } from '../kinds/kind.js';
import { type Qualification, qualificationPart } from '../kinds/person.js';
import { acceptancePart, certificatePart, type Receipt } from '../kinds/receipt.js';
import { digestOf } from './canonical.js';
import type { SignedSubject } from './statement.js';

/**
 * What exactly a signature on a thing covers. Running entries grow: a receipt gets a field more, a person another
 * training. A signature on such a thing covers only the part that was decided on, so that later facts void nothing. Which
 * parts these are stands with the kind.
 */

/** Kinds of what people sign beside documents and result sheets. */
export type SignedThing =
  | 'certificate'
  | 'qualification'
  | 'custom statement'
  | 'capability statement'
  | 'disposition'
  | 'log finding'
  | 'log finding group'
  | 'check finding'
  | 'lot file';

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

const partSubject = (part: SignablePart): SignedSubject => ({ ...part, revision: null });

export function certificateSubject(receipt: Receipt): SignedSubject | undefined {
  const part = certificatePart(receipt, digestOf);
  return part && partSubject(part);
}

export const receiptSubject = (receipt: Receipt): SignedSubject => partSubject(acceptancePart(receipt, digestOf));

export const stockPartSubject = (stock: StockPart): SignedSubject => partSubject(stockAcceptancePart(stock, digestOf));

export const qualificationSubject = (person: string, qualification: Qualification): SignedSubject =>
  partSubject(qualificationPart(person, qualification, digestOf));

/** Digests by which a revision is signed: of the parts that its kind declares, or of the whole. */
export function signableDigests({ kind, digest, body }: { kind: string; digest: string; body: unknown }): string[] {
  const known = kindNamed(kind);
  const parts = known?.signable?.(readBody(known, body), digestOf);
  return parts ? parts.map((part) => part.digest) : [digest];
}

/**
 * A finding of a log scan, many such findings that are alike, or a finding of a release check. Its identity is already a
 * digest: over rule, subjects and facts, or over those of the members.
 */
export const findingSubject = (
  kind: Extract<SignedThing, `${string} finding${string}`>,
  key: string,
  id: string,
): SignedSubject => ({
  kind,
  key,
  revision: null,
  digest: id,
});

/** What was stated of a family in one characteristic: its number stands where documents have their revision. */
export const capabilitySubject = (stated: {
  readonly family: string;
  readonly characteristic: string;
  readonly number: number;
  readonly digest: string;
}): SignedSubject => ({
  kind: 'capability statement',
  key: `${stated.family}:${stated.characteristic}`,
  revision: stated.number,
  digest: stated.digest,
});

/** The frozen lot file: what is reviewed, and what units are released or rejected on. */
export const lotFileSubject = (lot: string, dossierSha256: string): SignedSubject => ({
  kind: 'lot file',
  key: lot,
  revision: null,
  digest: dossierSha256,
});
