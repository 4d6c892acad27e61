import type { Facts } from '../dossier/facts.js';
import {
  byDigest,
  type Meaning,
  type SignedStatement,
  type SignedSubject,
  type Statement,
} from '../dossier/statement.js';
import type { Approval } from '../kinds/fields.js';
import type { ClaimNote } from './assessment.js';
import type { FindingDraft } from './checks/finding-draft.js';

/**
 * How an approval stands. A claim in a file decides nothing: it counts when signed here, or when the file says that it
 * was approved elsewhere and brings the signed original.
 */
export type Standing =
  | { readonly how: 'signed' | 'approved elsewhere' | 'claimed'; readonly by: string; readonly at: string }
  | { readonly how: 'none' };

/** Thousands of findings ask for the statements on them: each lot file is looked through once. */
const KNOWN = new WeakMap<object, ReadonlyMap<string, SignedStatement[]>>();

/** Statements of one meaning that cover exactly this content, in the order of signing. */
export function signedOn(
  facts: Facts,
  subject: Pick<SignedSubject, 'digest'> | undefined,
  meaning: Meaning,
): Statement[] {
  if (subject === undefined) return [];
  const { signatures } = facts;
  const known = KNOWN.get(signatures) ?? byDigest(signatures, ({ statement }) => statement);
  KNOWN.set(signatures, known);
  return (known.get(subject.digest) ?? [])
    .map(({ statement }) => statement)
    .filter((statement) => statement.meaning === meaning);
}

/** The first approval counts: when something became good does not move because somebody signed it once more. */
export function standingOf(facts: Facts, subject: SignedSubject, claim: Approval | undefined): Standing {
  const [signed] = signedOn(facts, subject, 'approved');
  if (signed) return { how: 'signed', by: signed.person.code, at: signed.at };
  if (!claim) return { how: 'none' };
  return { how: claim.original === undefined ? 'claimed' : 'approved elsewhere', by: claim.by, at: claim.at };
}

export const isGood = (standing: Standing): standing is Extract<Standing, { by: string }> =>
  standing.how === 'signed' || standing.how === 'approved elsewhere';

/** What a check tells of an approval, an acceptance or a decision that it relies on. */
export const noteOf = (
  what: ClaimNote['what'],
  facts: ClaimNote['facts'],
  { how, by, at }: Extract<Standing, { by: string }>,
): ClaimNote => ({ what, facts, how, by, at });

export const approvalOf = (kind: string, key: string, standing: Extract<Standing, { by: string }>): ClaimNote =>
  noteOf('approval', { kind, key }, standing);

/** The finding for an approval that is missing or only claimed; undefined when it is good. */
export function unapproved(
  standing: Standing,
  common: Pick<FindingDraft, 'subjects' | 'facts' | 'units'>,
): FindingDraft | undefined {
  if (isGood(standing)) return undefined;
  if (standing.how === 'none') return { ...common, rule: 'no approval', effect: 'cannot be decided' };
  const { by, at } = standing as Extract<Standing, { by: string }>;
  return {
    ...common,
    rule: 'claimed, not signed',
    facts: { ...common.facts, claimedBy: by, claimedAt: at },
    effect: 'cannot be decided',
  };
}
