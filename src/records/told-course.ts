import { z } from 'zod';
import { canonicalJson, parseCanonicalJson, sha256Hex } from '../dossier/canonical.js';
import { besideOf, type SignedStatement } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import { type Befell, COURSE, courseDigest } from '../ledger/course-of-lot.js';
import type { Enclosure, StateNote } from './enclosure.js';
import { isShown as shownIn } from './one-case.js';

/** What each act says that the program recorded, whatever else stands in its text. */
const Recorded = z.object({
  what: z.literal('act'),
  act: z.object({ type: z.string(), units: z.array(z.string()).optional() }),
  at: z.string(),
});

export type CourseFault =
  /** What a person signed of what had befallen the lot is not what the record says of it. */
  | { readonly code: 'not what the signer had before them'; readonly signed: SignedStatement }
  /** What the record tells does not go with its own list of what befell the lot. */
  | { readonly code: 'told otherwise than listed'; readonly told: number; readonly listed: number };

type OfLot = Pick<Enclosure, 'signatures' | 'states' | 'course' | 'forCase'>;

/** What a copy for one case does not tell, or not in the words of the audit trail. */
const NOT_IN_COPIES: ReadonlySet<string> = new Set([
  'act-refused',
  'verdict-changes-seen',
  'verdicts-changed',
  'release-conditions',
]);

/**
 * Whether a record leaves out, or turns round, what came before the last statement on the lot. Of what came behind it the
 * file cannot say that it is all.
 * @param lot of which it tells; absent where that cannot be read.
 */
export function courseFaults(
  { signatures, states, course, forCase }: OfLot,
  lot?: Pick<Lot, 'implants'>,
): CourseFault[] {
  const bound = signatures.flatMap((signed) => {
    const digest = besideOf(signed.statement, COURSE);
    return digest === undefined ? [] : [{ signed, digest }];
  });
  if (course === undefined && bound.length === 0) return [];
  const listed = course ?? [];
  const places = new Map(listed.map(({ digest }, place) => [digest, place]));
  const faults: CourseFault[] = bound
    .filter(({ signed, digest }) => {
      const place = places.get(signed.digest);
      return place === undefined || courseDigest(listed.slice(0, place)) !== digest;
    })
    .map(({ signed }) => ({ code: 'not what the signer had before them', signed }));
  const isShown = lot === undefined ? () => forCase === null : shownIn(lot, forCase);
  const isAsked = ({ what, units }: Befell) =>
    forCase === null || (!NOT_IN_COPIES.has(what) && (units.length === 0 || units.some(isShown)));
  const notes = states.filter(({ what }) => forCase === null || !NOT_IN_COPIES.has(what)).map(digestOfNote);
  const digests = [...notes, ...signatures.map(({ digest }) => digest)];
  const told = new Set(digests);
  const asked = listed.filter(isAsked);
  const isWhole = told.size === digests.length && asked.every(({ digest }) => told.has(digest));
  if (!isWhole || digests.some((digest) => digest === undefined || !places.has(digest))) {
    faults.push({ code: 'told otherwise than listed', told: digests.length, listed: asked.length });
  }
  return faults;
}

/** As the course lists it; undefined where the note does not carry what was recorded, or says something else. */
function digestOfNote({ signed, text, what, at, units }: StateNote): string | undefined {
  if (signed !== undefined) return sha256Hex(signed.text);
  const recorded = text === undefined ? undefined : recordedIn(text);
  if (recorded === undefined || recorded.act.type !== what || recorded.at !== at) return undefined;
  const { units: own } = recorded.act;
  if (own !== undefined && canonicalJson(own) !== canonicalJson(units)) return undefined;
  return sha256Hex(text!);
}

function recordedIn(text: string): z.infer<typeof Recorded> | undefined {
  try {
    return Recorded.parse(parseCanonicalJson(text));
  } catch {
    return undefined;
  }
}
