import type { z } from 'zod';
import { Assessment } from '../assessment/assessment.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { RecordChange } from '../report/record-change.js';
import { frozenFactsOrWhy, type NotComparable } from '../store/frozen-facts.js';
import type { Reads } from '../store/repositories.js';
import { changesBetween, type Shown } from './changes.js';
import { Enclosure } from './enclosure.js';

/** A record as it was issued before. */
interface Issued {
  readonly number: string;
  readonly revision: number;
  readonly enclosure: string;
  readonly dossierDigest: string;
}

/**
 * What a new record says otherwise than the one that it supersedes. Nothing that is wrong with the earlier one keeps the new
 * one from being issued: what could not be compared is a change of its own, and says which record, and why.
 * @param forCase the case for whose institution both are; null for whole records.
 */
export async function changesSince(
  read: Reads,
  { number, revision, enclosure: text, dossierDigest }: Issued,
  after: Shown & { readonly facts: Facts },
  forCase: string | null,
): Promise<RecordChange[]> {
  const notCompared = (why: NotCompared['why'], part: string | null = null): NotCompared => ({
    code: 'not compared',
    record: { number, revision },
    why,
    part,
  });
  const enclosure = readAs(Enclosure, text);
  if (!enclosure) return [notCompared('enclosure not readable')];
  const { signatures, assessmentSha256 } = enclosure;
  const assessment = readAs(Assessment, (await read.assessments.byDigest(assessmentSha256))?.body ?? 'null');
  if (!assessment) return [notCompared('assessment not readable')];
  const found = await factsThen(read, dossierDigest, after.facts);
  if (!('why' in found)) return changesBetween({ facts: found, assessment, signatures }, after, forCase);
  return [
    notCompared(found.why, found.part),
    ...changesBetween({ facts: undefined, assessment, signatures }, after, forCase),
  ];
}

type NotCompared = Extract<RecordChange, { code: 'not compared' }>;

/** The lot file that was frozen before; the present one when nothing changed since. */
async function factsThen(read: Reads, digest: string, now: Facts): Promise<Facts | NotComparable> {
  return sha256Hex(canonicalJson(now.dossier)) === digest ? now : frozenFactsOrWhy(read, digest);
}

/** Undefined for a text of another form. */
export function readAs<T>(schema: z.ZodType<T>, text: string): T | undefined {
  try {
    return schema.safeParse(JSON.parse(text)).data;
  } catch {
    return undefined;
  }
}
