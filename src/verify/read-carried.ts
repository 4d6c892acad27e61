import { z } from 'zod';
import { AppError, LaterFormError } from '../base/errors.js';
import { readKnown } from '../base/later-form.js';
import { programName } from '../base/settings.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { type Facts, readFacts } from '../dossier/facts.js';
import { baselineOfLot } from '../dossier/lot-baseline.js';
import { demandNamed } from '../dossier/named-facts.js';
import { Dossier } from '../dossier/schema.js';
import { RECORD_NAMESPACE } from '../pdf/metadata.js';
import type { PdfContents } from '../pdf/reading/read-pdf.js';
import { ATTACHED, Enclosure } from '../records/enclosure.js';
import type { VerifyFinding, VerifyStepCode } from '../report/phrases/verify.js';
import type { Steps } from './report.js';

/** The text of an attachment; the caller has seen that it is there. */
export function textOf(contents: PdfContents, name: string): string {
  return Buffer.from(contents.attachments.get(name)!).toString('utf8');
}

/** What every version says of a record in its enclosure, as far as one can know. */
const AnyEnclosure = z.looseObject({
  program: z.string().nullable().catch(null),
  attachments: z.array(z.looseObject({ name: z.string(), sha256: z.string() })),
});
/** Program that wrote a record, and what it attached. */
export type AttachedBy = z.infer<typeof AnyEnclosure>;

export interface CarriedEnclosure<T = Enclosure> {
  /** Undefined when only a later version reads it. */
  readonly enclosure: T | undefined;
  readonly attached: AttachedBy | undefined;
}

const namedEnclosure = ({ keywords }: PdfContents): string | undefined =>
  /enclosure:([0-9a-f]{64})/.exec(keywords)?.[1];

/** Whether a PDF says in any of the usual places that it is a record of this program, altered or not. */
export function isRecord(contents: PdfContents): boolean {
  return (
    namedEnclosure(contents) !== undefined ||
    contents.metadata.includes(RECORD_NAMESPACE) ||
    contents.pages.some((place) => place !== undefined) ||
    Object.values(ATTACHED).some((name) => contents.attachments.has(name))
  );
}

/** Reads what the record says of itself, if it is what the file names by its digest. */
export function readEnclosure<T>(
  contents: PdfContents,
  form: z.ZodType<T>,
  steps: Steps,
  name: string = ATTACHED.enclosure,
): CarriedEnclosure<T> | undefined {
  const named = namedEnclosure(contents);
  const bytes = contents.attachments.get(name);
  if (named === undefined) {
    return steps.broken('enclosure', { code: 'no enclosure' });
  }
  if (!bytes) return steps.broken('enclosure', { code: 'enclosure missing', facts: { name } });
  if (sha256Hex(bytes) !== named) {
    return steps.broken('enclosure', { code: 'enclosure altered', facts: { name } });
  }
  const value = jsonOf(textOf(contents, name));
  const attached = AnyEnclosure.safeParse(value).data;
  const writer = attached?.program ?? null;
  try {
    const { whole, later } = readKnown(name, form, value);
    if (later === undefined) steps.holds('enclosure', { code: 'enclosure as named' });
    else sayLater('enclosure', [later], writer, steps);
    return { enclosure: whole, attached };
  } catch (error) {
    if (!(error instanceof LaterFormError)) {
      return steps.broken('enclosure', { code: 'enclosure of unknown form', facts: { name } });
    }
    sayLater('enclosure', [error.what], writer, steps);
    return { enclosure: undefined, attached };
  }
}

/** This very program and earlier releases cannot have written what this one does not know; any other may have. */
export function sayLater(step: VerifyStepCode, later: readonly string[], writer: string | null, steps: Steps): void {
  const facts = { later: [...new Set(later)], writer, program: programName() };
  if (writer === facts.program || isEarlierRelease(writer)) steps.broken(step, { code: 'not of its writer', facts });
  else steps.notKnown(step, { code: 'of a later version', facts });
}

/** Whether a program names itself as a release before this one. Two builds of one release may come in either order. */
function isEarlierRelease(writer: string | null): boolean {
  const [theirs, ours] = [writer ?? '', programName()].map((name) =>
    /^Lotwright (\d+)\.(\d+)\.(\d+)/.exec(name)?.slice(1),
  );
  if (theirs === undefined || ours === undefined) return false;
  const at = theirs.findIndex((part, index) => part !== ours[index]);
  return at !== -1 && Number(theirs[at]) < Number(ours[at]);
}

/** Compares every attachment with its digest in the enclosure. @returns whether all are there, unaltered. */
export function compareAttachments(
  contents: PdfContents,
  enclosure: Pick<AttachedBy, 'attachments'>,
  steps: Steps,
  needed: readonly string[] = [ATTACHED.dossier, ATTACHED.assessment, ATTACHED.template],
): boolean {
  const wrong: VerifyFinding[] = [];
  for (const { name, sha256 } of enclosure.attachments) {
    const bytes = contents.attachments.get(name);
    if (!bytes) wrong.push({ code: 'attachment missing', facts: { name } });
    else if (sha256Hex(bytes) !== sha256) wrong.push({ code: 'attachment altered', facts: { name, sha256 } });
  }
  const known = new Set<string>([ATTACHED.enclosure, ...enclosure.attachments.map((item) => item.name)]);
  for (const name of contents.attachments.keys()) {
    if (!known.has(name)) wrong.push({ code: 'attachment added', facts: { name } });
  }
  for (const name of needed) {
    if (!known.has(name)) wrong.push({ code: 'attachment not named', facts: { name } });
  }
  for (const finding of wrong) steps.broken('attachments', finding);
  const count = enclosure.attachments.length;
  if (wrong.length === 0) steps.holds('attachments', { code: 'attachments as named', facts: { count } });
  return wrong.length === 0;
}

export interface CarriedDossier {
  /** Undefined when only a later version reads them. */
  readonly facts: Facts | undefined;
  readonly dossierText: string;
  /** Texts of the parts by SHA-256. */
  readonly parts: ReadonlyMap<string, string>;
}

/** Reads the lot file with its parts, and compares the digests that it holds with what they are of. */
export function readDossier(contents: PdfContents, enclosure: Enclosure, steps: Steps): CarriedDossier | undefined {
  const dossierText = textOf(contents, ATTACHED.dossier);
  const name = ATTACHED.dossier;
  const wrong = (finding: VerifyFinding): undefined => steps.broken('lot file', finding);
  if (sha256Hex(dossierText) !== enclosure.dossierSha256) return wrong({ code: 'another lot file', facts: { name } });
  const value = jsonOf(dossierText);
  const later: string[] = [];
  const unread = { facts: undefined, dossierText, parts: new Map() };
  const dossier = dossierIn(value, later);
  if (dossier === undefined) return wrong({ code: 'lot file of unknown form', facts: { name } });
  if (dossier === 'later') {
    sayLater('lot file', later, enclosure.program, steps);
    return unread;
  }
  if (canonicalJson(dossier) !== dossierText) return wrong({ code: 'lot file not canonical', facts: { name } });
  const spoilt = dossier.pinned.find((item) => sha256Hex(canonicalJson(item.body)) !== item.digest);
  if (spoilt) return wrong({ code: 'lot file spoilt', facts: { name, kind: spoilt.kind, key: spoilt.key } });
  if (dossier.lot !== enclosure.lot || dossier.demo !== enclosure.demo)
    return wrong({ code: 'lot file of another lot', facts: { name } });

  const parts = new Map<string, string>();
  for (const part of dossier.parts) {
    if (contents.attachments.has(part.name)) parts.set(part.sha256, textOf(contents, part.name));
  }
  try {
    const facts = readFacts(dossier, parts, { passOver: (what) => later.push(what) });
    demandNamed(facts);
    baselineOfLot(facts);
    const altered = facts.pinned.find((item) => sha256Hex(canonicalJson(item.body)) !== item.digest);
    if (altered) return wrong({ code: 'part spoilt', facts: { name, kind: altered.kind, key: altered.key } });
    const cases = facts.withheldCases;
    if (later.length > 0) sayLater('lot file', later, enclosure.program, steps);
    else if (cases.length === 0) steps.holds('lot file', { code: 'lot file whole' });
    else steps.holds('lot file', { code: 'lot file with parts withheld', facts: { cases } });
    return { facts, dossierText, parts };
  } catch (error) {
    if (error instanceof LaterFormError) {
      sayLater('lot file', [...later, error.what], enclosure.program, steps);
      return unread;
    }
    if (error instanceof AppError) return wrong({ code: 'told by an error', facts: { message: error.message } });
    // What was forged may stumble anywhere.
    return wrong({ code: 'lot file of unknown form', facts: { name } });
  }
}

/** The lot file with all that it says; `later` gets what was passed over, or why only a later version reads it. */
function dossierIn(value: unknown, later: string[]): Dossier | 'later' | undefined {
  try {
    const read = readKnown(ATTACHED.dossier, Dossier, value);
    if (read.later !== undefined) later.push(read.later);
    return read.whole;
  } catch (error) {
    if (!(error instanceof LaterFormError)) return undefined;
    later.push(error.what);
    return 'later';
  }
}

/** The value of a JSON text, or undefined when it is none. */
export function jsonOf(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
