import { z } from 'zod';
import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { revisionSubject } from '../dossier/signable.js';
import type { Meaning, Statement } from '../dossier/statement.js';
import { kindNamed } from '../kinds/catalogue.js';
import { readBody } from '../kinds/formats.js';
import type { Kind } from '../kinds/kind.js';
import type { PersonTie } from '../kinds/ties.js';
import { declaredInvalid } from './invalid-tests.js';
import { signedOn } from './signed.js';
import { currentResults } from './specimens.js';

/** A person whom a file names for something that people sign here, and who signed it. */
export interface Claim {
  /** What is said of the person: the tie of the document, or `values checked by` of a result sheet. */
  readonly tie: PersonTie;
  readonly meaning: Meaning;
  readonly kind: string;
  readonly key: string;
  readonly revision: number | null;
  readonly claimed: string;
  /** The decision that the file names, for one on a finding. */
  readonly outcome: Statement['outcome'];
  /** Statements on exactly that: without one the claim stands alone. */
  readonly signed: readonly Statement[];
}

/** What is claimed of documents as a whole or of a part that people sign by itself: the part, and the meaning. */
const OF_DOCUMENTS: Partial<Record<PersonTie, { readonly meaning: Meaning; readonly part: string | null }>> = {
  'approval claimed by': { meaning: 'approved', part: null },
  'acceptance claimed by': { meaning: 'approved', part: 'receipt' },
  'certificate checked by': { meaning: 'checked', part: 'certificate' },
};

/** Ties that claim of a person what people sign here. */
export const CLAIMING: ReadonlySet<PersonTie> = new Set([
  ...(Object.keys(OF_DOCUMENTS) as PersonTie[]),
  'decision claimed by',
  'invalid test decided by',
  'values checked by',
]);

/** Every claim that the files of a lot make of people, with what was signed. */
export function claimsOf(facts: Facts): readonly Claim[] {
  const known = KNOWN.get(facts) ?? [
    ...facts.pinned.flatMap((pinned) => claimsOfDocument(facts, pinned)),
    ...claimsOfSheets(facts),
    ...claimsOfLot(facts),
  ];
  KNOWN.set(facts, known);
  return known;
}

const KNOWN = new WeakMap<Facts, readonly Claim[]>();

function claimsOfDocument(facts: Facts, { kind: name, key, revision, digest, body }: Facts['pinned'][number]): Claim[] {
  const kind = kindNamed(name);
  if (!kind) return [];
  // What only a later version knows of a document claims nothing that this one reads.
  const read = readBody(kind, body, () => {});
  return kind.links(read).flatMap(({ name: tie, key: claimed }) => {
    const of = OF_DOCUMENTS[tie as PersonTie];
    if (!of || (of.meaning === 'approved' && wasApprovedElsewhere(read))) return [];
    const signed = signedOn(facts, { digest: digestOfPart(kind, read, of.part) ?? digest }, of.meaning);
    const numbered = of.part === null && kind.numbering === 'document';
    return [
      {
        tie: tie as PersonTie,
        meaning: of.meaning,
        kind: of.part ?? name,
        key,
        revision: numbered ? revision : null,
        claimed,
        outcome: null,
        signed,
      },
    ];
  });
}

/** An approval that brings its signed original is more than a claim: both it and what is signed here may be true. */
function wasApprovedElsewhere(body: unknown): boolean {
  const { data } = BringsOriginal.safeParse(body);
  return (data?.approval ?? data?.acceptance)?.original !== undefined;
}

const Original = z.object({ original: z.string().optional() }).optional();
const BringsOriginal = z.object({ approval: Original, acceptance: Original });

const digestOfPart = (kind: Kind, body: unknown, part: string | null): string | undefined =>
  kind.signable?.(body, digestOf).find((item) => item.kind === part)?.digest;

/** Of each sheet and each person whom a row of it names as checker, once. */
function claimsOfSheets(facts: Facts): Claim[] {
  const rows = currentResults(facts).filter(({ checkedBy }) => checkedBy !== '');
  return [...facts.resultSets.values()].flatMap((sheet) => {
    const own = rows.filter(({ evidence }) => evidence === sheet.body.evidence);
    const signed = signedOn(facts, revisionSubject({ ...sheet, kind: 'result-set' }), 'checked');
    return [...new Set(own.map(({ checkedBy }) => checkedBy))].sort().map(
      (claimed): Claim => ({
        tie: 'values checked by',
        meaning: 'checked',
        kind: 'result-set',
        key: sheet.key,
        revision: null,
        claimed,
        outcome: null,
        signed,
      }),
    );
  });
}

function claimsOfLot(facts: Facts): Claim[] {
  const { lot, decisions } = facts.lot.body;
  const decided = facts.signatures.map(({ statement }) => statement).filter(({ meaning }) => meaning === 'decided');
  const common = { meaning: 'decided', revision: null } as const;
  return [
    ...decisions.map(({ finding, by, decision }): Claim => {
      const signed = decided.filter(({ subjects }) => subjects.some(({ digest }) => digest.startsWith(finding)));
      const what = { kind: 'log finding', key: finding.slice(0, 12) };
      return { ...common, ...what, tie: 'decision claimed by', claimed: by, outcome: decision, signed };
    }),
    ...declaredInvalid(facts).map(({ test, result, signed }): Claim => {
      const what = { kind: 'result', key: `${lot}:${result.row}` };
      const claim = { ...common, ...what, claimed: test.decidedBy, outcome: null, signed: signed ? [signed] : [] };
      return { ...claim, tie: 'invalid test decided by' };
    }),
  ];
}

/** Whether what was signed bears a claim out. Where nobody signed there is nothing to compare. */
export function agrees({ claimed, outcome, signed }: Claim): boolean {
  if (signed.length === 0) return true;
  const isSaid = signed.some(({ person }) => person.code === claimed || person.deputyFor === claimed);
  return isSaid && signed.every((statement) => outcome === null || statement.outcome === outcome);
}
