import { z } from 'zod';
import { canonicalJson, parseCanonicalJson, sha256Hex } from '../dossier/canonical.js';
import { besideOf, type SignedStatement } from '../dossier/statement.js';
import { COURSE, courseDigest } from '../ledger/course-of-lot.js';
import type { Enclosure, StateNote } from './enclosure.js';

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

/**
 * Whether a record leaves out, or turns round, what came before the last statement on the lot. Of what came behind it the
 * file cannot say that it is all.
 */
export function courseFaults({ signatures, states, course, forCase }: OfLot): CourseFault[] {
  const bound = signatures.flatMap((signed) => {
    const digest = besideOf(signed.statement, COURSE);
    return digest === undefined ? [] : [{ signed, digest }];
  });
  if (course === undefined && bound.length === 0) return [];
  const listed = course ?? [];
  const faults: CourseFault[] = bound
    .filter(({ signed, digest }) => {
      const place = listed.indexOf(signed.digest);
      return place < 0 || courseDigest(listed.slice(0, place)) !== digest;
    })
    .map(({ signed }) => ({ code: 'not what the signer had before them', signed }));
  const digests = [...states.map(digestOfNote), ...signatures.map(({ digest }) => digest)];
  const told = digests.filter((digest) => digest !== undefined);
  const isTold = told.every((digest) => listed.includes(digest)) && new Set(told).size === told.length;
  const isWhole = forCase !== null || (told.length === digests.length && told.length === listed.length);
  if (!isTold || !isWhole) {
    faults.push({ code: 'told otherwise than listed', told: digests.length, listed: listed.length });
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
