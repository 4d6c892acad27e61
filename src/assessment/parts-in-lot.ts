import { z } from 'zod';
import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { Meaning } from '../dossier/statement.js';
import type { ResultRow } from '../dossier/tables.js';
import { kindNamed } from '../kinds/catalogue.js';
import { readBody } from '../kinds/formats.js';
import type { LinkDraft, SignablePart } from '../kinds/kind.js';
import type { PersonTie } from '../kinds/ties.js';
import { CLAIMING, claimsOf } from './claims.js';

/** What a person did: by the tie of the document that says so, by a row of results, or by what they signed. */
export type Doing = PersonTie | 'measured' | 'typed' | Meaning;

/** One part that a person had in a lot. */
export interface PartInLot {
  readonly person: string;
  readonly did: Doing;
  /** `said` by a document or a row, `signed`, or `claimed` of a person for what people sign. */
  readonly how: 'said' | 'signed' | 'claimed';
  /** What it was done to. Of a step after the build the kind is `step`, of a value `result`. */
  readonly kind: string;
  readonly key: string;
  /** Code of the person in whose place a deputy signed. */
  readonly deputyFor: string | null;
}

/** A document of a lot file or one that will go into it, in the newest format of its kind. */
export interface PartsDocument {
  readonly kind: string;
  readonly key: string;
  readonly body: unknown;
}

type TestedBy = Pick<ResultRow, 'analyst' | 'enteredBy' | 'specimen' | 'characteristic'>;

/** Every part that anybody had in a lot, as its lot file tells it: whoever has the file alone finds the same. */
export function partsInLot(facts: Facts): readonly PartInLot[] {
  const known = KNOWN.get(facts) ?? partsFrom(facts);
  KNOWN.set(facts, known);
  return known;
}

/** The parts of one person. */
export const partsBy = (facts: Facts, person: string): PartInLot[] =>
  partsInLot(facts).filter((part) => part.person === person);

const KNOWN = new WeakMap<Facts, readonly PartInLot[]>();

function partsFrom(facts: Facts): readonly PartInLot[] {
  const documents = facts.pinned.flatMap(({ kind: name, key, digest, body }) => {
    const kind = kindNamed(name);
    if (!kind) return [{ kind: name, key, body, digests: [digest] }];
    // What only a later version knows of a document takes no part from anybody.
    const read = readBody(kind, body, () => {});
    return [{ kind: name, key, body: read, digests: digestsOf(kind.signable?.(read, digestOf)) ?? [digest] }];
  });
  const signable = new Set(documents.flatMap(({ digests }) => digests));
  // Nothing tells a claim where somebody signed.
  const claimed = claimsOf(facts).filter(({ signed }) => signed.length === 0);
  return [
    ...partsSaid(documents, facts.results),
    ...claimed.map((one) => ({ ...said(one.claimed, one.tie, one), how: 'claimed' as const })),
    ...partsSigned(facts, signable),
  ];
}

const digestsOf = (parts: readonly SignablePart[] | undefined): string[] | undefined =>
  parts?.map(({ digest }) => digest);

/** What documents and results say that people did; what files claim of people is left out. */
export function partsSaid(documents: readonly PartsDocument[], results: readonly TestedBy[]): PartInLot[] {
  return [
    ...documents.flatMap(saidBy),
    ...results.flatMap(({ analyst, enteredBy, specimen, characteristic }) => {
      const value = { kind: 'result', key: `${specimen} ${characteristic}` };
      return [said(analyst, 'measured', value), ...(enteredBy === '' ? [] : [said(enteredBy, 'typed', value)])];
    }),
  ];
}

const said = (person: string, did: Doing, { kind, key }: Pick<PartInLot, 'kind' | 'key'>): PartInLot => ({
  person,
  did,
  how: 'said',
  kind,
  key,
  deputyFor: null,
});

function saidBy({ kind: name, key, body }: PartsDocument): PartInLot[] {
  const kind = kindNamed(name);
  if (!kind) return [];
  const tied = [{ kind: name, key, links: kind.links(body) }, ...kind.declares(body)].flatMap((source) =>
    source.links.filter(isSaidOfPerson).map((link) => ({ source, link })),
  );
  return tied.map(({ source, link }) => {
    // A step after the build is no entry of its own: it goes by its name.
    const step = name === 'lot' && link.name === 'worked on by' ? stepAt(body, link.field) : undefined;
    return said(link.key, link.name as PersonTie, step === undefined ? source : { kind: 'step', key: step });
  });
}

const isSaidOfPerson = ({ kind, name }: LinkDraft): boolean => kind === 'person' && !CLAIMING.has(name as PersonTie);

const stepAt = (lot: unknown, field: string): string | undefined =>
  WithSteps.safeParse(lot).data?.steps.find((_, index) => field === `steps[${index}].by`)?.step;

const WithSteps = z.object({ steps: z.array(z.object({ step: z.string() })) });

/** A statement may cover things of other lots too: only those of this one count. */
const partsSigned = ({ signatures }: Facts, signable: ReadonlySet<string>): PartInLot[] =>
  signatures.flatMap(({ statement: { meaning, subjects, person } }) =>
    subjects
      .filter(({ digest }) => meaning === 'decided' || signable.has(digest))
      .map(({ kind, key }) => ({
        person: person.code,
        did: meaning,
        how: 'signed' as const,
        kind,
        key,
        deputyFor: person.deputyFor,
      })),
  );

/** Somebody who ran a build or a load, or did a step after the build. */
const isMaking = ({ did, kind }: PartInLot): boolean => did === 'run by' || kind === 'step';

/** Somebody who measured, scanned or typed a value, one that was corrected since included. */
const isTesting = ({ did }: PartInLot): boolean => did === 'measured' || did === 'typed' || did === 'scanned by';

/** Somebody who signed a decision on a finding. */
const isDeciding = ({ did, how }: PartInLot): boolean => did === 'decided' && how === 'signed';

/**
 * Codes of the people who made, tested and decided on a lot: what the rules of independence ask of whoever reviews,
 * releases or rejects it (docs/trade.md 9.5).
 */
export function doersAmong(parts: readonly PartInLot[]): Record<'maker' | 'tester' | 'decider', string[]> {
  const codes = (of: (part: PartInLot) => boolean) =>
    [...new Set(parts.filter(of).map(({ person }) => person))].filter((code) => code !== '').sort();
  return { maker: codes(isMaking), tester: codes(isTesting), decider: codes(isDeciding) };
}
