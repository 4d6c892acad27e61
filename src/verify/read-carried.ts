import { AppError, LaterFormError } from '../base/errors.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { type Facts, readFacts } from '../dossier/facts.js';
import { laterForm } from '../dossier/later-form.js';
import { Dossier } from '../dossier/schema.js';
import type { PdfContents } from '../pdf/reading/read-pdf.js';
import { ATTACHED, Enclosure } from '../records/enclosure.js';
import type { VerifyFinding } from '../report/phrases/verify.js';
import type { Steps } from './report.js';

/** The text of an attachment; the caller has seen that it is there. */
export function textOf(contents: PdfContents, name: string): string {
  return Buffer.from(contents.attachments.get(name)!).toString('utf8');
}

/** Reads what the record says of itself, if it is what the file names by its digest. */
export function readEnclosure(contents: PdfContents, steps: Steps): Enclosure | undefined {
  const named = /enclosure:([0-9a-f]{64})/.exec(contents.keywords)?.[1];
  const bytes = contents.attachments.get(ATTACHED.enclosure);
  if (named === undefined) {
    return steps.broken('enclosure', { code: 'no enclosure' });
  }
  const name = ATTACHED.enclosure;
  if (!bytes) return steps.broken('enclosure', { code: 'enclosure missing', facts: { name } });
  if (sha256Hex(bytes) !== named) {
    return steps.broken('enclosure', { code: 'enclosure altered', facts: { name } });
  }
  const value = jsonOf(textOf(contents, ATTACHED.enclosure));
  const parsed = Enclosure.safeParse(value);
  if (!parsed.success) {
    const later = laterForm(parsed.error, value);
    if (later !== undefined) return steps.notKnown('enclosure', { code: 'of a later version', facts: { later } });
    return steps.broken('enclosure', { code: 'enclosure of unknown form', facts: { name } });
  }
  steps.holds('enclosure', { code: 'enclosure as named' });
  return parsed.data;
}

/** Compares every attachment with its digest in the enclosure. @returns whether all are there, unaltered. */
export function compareAttachments(contents: PdfContents, enclosure: Enclosure, steps: Steps): boolean {
  const wrong: VerifyFinding[] = [];
  for (const { name, sha256 } of enclosure.attachments) {
    const bytes = contents.attachments.get(name);
    if (!bytes) wrong.push({ code: 'attachment missing', facts: { name } });
    else if (sha256Hex(bytes) !== sha256) wrong.push({ code: 'attachment altered', facts: { name, sha256 } });
  }
  const known = new Set([ATTACHED.enclosure, ...enclosure.attachments.map((item) => item.name)]);
  for (const name of contents.attachments.keys()) {
    if (!known.has(name)) wrong.push({ code: 'attachment added', facts: { name } });
  }
  for (const name of [ATTACHED.dossier, ATTACHED.assessment, ATTACHED.template]) {
    if (!known.has(name)) wrong.push({ code: 'attachment not named', facts: { name } });
  }
  for (const finding of wrong) steps.broken('attachments', finding);
  const count = enclosure.attachments.length;
  if (wrong.length === 0) steps.holds('attachments', { code: 'attachments as named', facts: { count } });
  return wrong.length === 0;
}

export interface CarriedDossier {
  readonly facts: Facts;
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
  const parsed = Dossier.safeParse(value);
  if (!parsed.success) {
    const later = laterForm(parsed.error, value);
    if (later !== undefined) return steps.notKnown('lot file', { code: 'of a later version', facts: { later } });
    return wrong({ code: 'lot file of unknown form', facts: { name } });
  }
  const dossier = parsed.data;
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
    const facts = readFacts(dossier, parts);
    const altered = facts.pinned.find((item) => sha256Hex(canonicalJson(item.body)) !== item.digest);
    if (altered) return wrong({ code: 'part spoilt', facts: { name, kind: altered.kind, key: altered.key } });
    const cases = facts.withheldCases;
    if (cases.length === 0) steps.holds('lot file', { code: 'lot file whole' });
    else steps.holds('lot file', { code: 'lot file with parts withheld', facts: { cases } });
    return { facts, dossierText, parts };
  } catch (error) {
    if (error instanceof LaterFormError)
      return steps.notKnown('lot file', { code: 'told by an error', facts: { message: error.message } });
    if (error instanceof AppError) return wrong({ code: 'told by an error', facts: { message: error.message } });
    throw error;
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
