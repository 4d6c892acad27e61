import { AppError } from '../base/errors.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { type Facts, readFacts } from '../dossier/facts.js';
import { Dossier } from '../dossier/schema.js';
import type { PdfContents } from '../pdf/reading/read-pdf.js';
import { ATTACHED, Enclosure } from '../records/enclosure.js';
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
    return steps.broken('enclosure', 'the file names no enclosure: it is no record of this program');
  }
  if (!bytes) return steps.broken('enclosure', `${ATTACHED.enclosure} is missing`);
  if (sha256Hex(bytes) !== named) {
    return steps.broken(
      'enclosure',
      `${ATTACHED.enclosure} was altered: its digest is not the one that the file names`,
    );
  }
  const parsed = Enclosure.safeParse(jsonOf(textOf(contents, ATTACHED.enclosure)));
  if (!parsed.success) {
    return steps.broken('enclosure', `${ATTACHED.enclosure} is of a form that this program does not know`);
  }
  steps.holds('enclosure', 'its digest is the one that the file names');
  return parsed.data;
}

/** Compares every attachment with its digest in the enclosure. @returns whether all are there, unaltered. */
export function compareAttachments(contents: PdfContents, enclosure: Enclosure, steps: Steps): boolean {
  const wrong: string[] = [];
  for (const { name, sha256 } of enclosure.attachments) {
    const bytes = contents.attachments.get(name);
    if (!bytes) wrong.push(`${name} is missing`);
    else if (sha256Hex(bytes) !== sha256) wrong.push(`${name} was altered: its SHA-256 is not ${sha256}`);
  }
  const known = new Set([ATTACHED.enclosure, ...enclosure.attachments.map((item) => item.name)]);
  for (const name of contents.attachments.keys()) {
    if (!known.has(name)) wrong.push(`${name} was added: the enclosure does not name it`);
  }
  for (const name of [ATTACHED.dossier, ATTACHED.assessment, ATTACHED.template]) {
    if (!known.has(name)) wrong.push(`${name} is named by nothing`);
  }
  for (const says of wrong) steps.broken('attachments', says);
  const count = enclosure.attachments.length;
  if (wrong.length === 0) steps.holds('attachments', `${count} of ${count} are those that the enclosure names`);
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
  const wrong = (says: string): undefined => steps.broken('lot file', `${ATTACHED.dossier} ${says}`);
  if (sha256Hex(dossierText) !== enclosure.dossierSha256) return wrong('is not the lot file that the enclosure names');
  const parsed = Dossier.safeParse(jsonOf(dossierText));
  if (!parsed.success) return wrong('is of a form that this program does not know');
  const dossier = parsed.data;
  if (canonicalJson(dossier) !== dossierText) return wrong('is not in canonical form');
  const spoilt = dossier.pinned.find((item) => sha256Hex(canonicalJson(item.body)) !== item.digest);
  if (spoilt) return wrong(`holds ${spoilt.kind} ${spoilt.key}, which is not what its digest says`);
  if (dossier.lot !== enclosure.lot || dossier.demo !== enclosure.demo) return wrong('is not of the lot that is shown');

  const parts = new Map<string, string>();
  for (const part of dossier.parts) {
    if (contents.attachments.has(part.name)) parts.set(part.sha256, textOf(contents, part.name));
  }
  try {
    const facts = readFacts(dossier, parts);
    const altered = facts.pinned.find((item) => sha256Hex(canonicalJson(item.body)) !== item.digest);
    if (altered) return wrong(`has a part with ${altered.kind} ${altered.key}, which is not what its digest says`);
    const withheld = facts.withheldCases.length;
    const others = `parts of ${withheld} other case(s) are withheld: ${facts.withheldCases.join(', ')}`;
    const says = withheld === 0 ? 'whole, with every part' : others;
    steps.holds('lot file', says);
    return { facts, dossierText, parts };
  } catch (error) {
    if (error instanceof AppError) return steps.broken('lot file', error.message);
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
