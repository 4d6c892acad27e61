import { assess } from '../assessment/assess.js';
import { Assessment } from '../assessment/assessment.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { readFacts } from '../dossier/facts.js';
import { Dossier } from '../dossier/schema.js';
import { AppError } from '../errors.js';
import { ATTACHED, Enclosure, issueOf } from '../record/enclosure.js';
import { type RecordContent, renderRecord } from '../record/render-record.js';
import { PROGRAM } from '../settings.js';
import { checkEvidence } from './check-evidence.js';
import { firstDifference } from './first-difference.js';
import { openPdf } from './open-pdf.js';
import type { PdfContents } from './read-pdf.js';

export interface VerifyStep {
  readonly step: string;
  readonly outcome: 'holds' | 'does not hold' | 'not checked';
  readonly says: string;
}

export interface VerifyReport {
  readonly file: string;
  /** unaltered; altered; or honest, but this version of the program assesses differently. */
  readonly verdict: 'unaltered' | 'altered' | 'assesses differently';
  readonly record: { readonly number: string; readonly revision: number } | null;
  readonly units: { readonly serial: string; readonly verdict: string; readonly now?: string }[];
  readonly steps: VerifyStep[];
}

export interface VerifyOptions {
  /** Fingerprint of the key that the reader trusts. Drafts carry no seal to compare it with. */
  readonly key?: string | undefined;
  /** Folder with evidence files: their hashes are compared and the logs are scanned again. */
  readonly evidence?: string | undefined;
}

/** Stops the steps at the first thing that does not hold. */
class Altered extends Error {}

/**
 * Verifies a record with nothing but the file: attachments against the enclosure, the enclosure against the file, the
 * lot file against its parts, the assessment computed again, and the pages rendered again.
 * @throws BadInputError when the file cannot be opened at all.
 */
export async function verifyRecord(file: string, options: VerifyOptions = {}): Promise<VerifyReport> {
  const steps: VerifyStep[] = [];
  let record: VerifyReport['record'] = null;
  let units: VerifyReport['units'] = [];
  let differs = false;
  const holds = (step: string, says: string) => steps.push({ step, outcome: 'holds', says });
  const skip = (step: string, says: string) => steps.push({ step, outcome: 'not checked', says });
  const broken = (step: string, says: string): never => {
    steps.push({ step, outcome: 'does not hold', says });
    throw new Altered();
  };
  try {
    const { bytes, contents } = await openOr(file, broken);
    holds('file', `a whole PDF with ${contents.attachments.size} attachments`);

    const enclosure = readEnclosure(contents, broken);
    record = { number: enclosure.record.number, revision: enclosure.record.revision };
    holds('enclosure', 'its digest is the one that the file names');
    compareAttachments(contents, enclosure, broken);
    holds(
      'attachments',
      `${enclosure.attachments.length} of ${enclosure.attachments.length} are those that the enclosure names`,
    );

    const { facts, dossierText, parts } = readDossierOf(contents, enclosure, broken);
    const withheld = facts.withheldCases.length;
    holds('lot file', withheld === 0 ? 'whole, with every part' : `parts of ${withheld} case(s) are withheld`);

    const attached = Assessment.parse(JSON.parse(textOf(contents, ATTACHED.assessment)));
    const again = assess(facts, PROGRAM);
    units = attached.units.map((unit) => {
      const now = again.units.find((item) => item.serial === unit.serial)?.verdict ?? 'unknown';
      return { serial: unit.serial, verdict: unit.verdict, ...(now === unit.verdict ? {} : { now }) };
    });
    const difference = firstDifference({ ...attached, program: '' }, { ...again, program: '' });
    if (difference === undefined)
      holds('assessment', 'computed again from the lot file: the same verdicts and numbers');
    else if (attached.program === PROGRAM)
      broken('assessment', `not what ${PROGRAM} computes. First difference: ${difference}`);
    else {
      differs = true;
      const says = `${attached.program} assessed it, ${PROGRAM} assesses differently. First difference: ${difference}`;
      steps.push({ step: 'assessment', outcome: 'does not hold', says });
    }
    const content = {
      dossierText,
      parts,
      assessmentText: textOf(contents, ATTACHED.assessment),
      templateText: textOf(contents, ATTACHED.template),
    };
    await comparePages(bytes, content, enclosure, { holds, skip, broken });
    if (options.evidence === undefined)
      skip('evidence', 'no folder given: the original files and logs were not compared');
    else for (const step of await checkEvidence(facts, options.evidence)) steps.push(step);
    if (steps.some((step) => step.step.startsWith('evidence') && step.outcome === 'does not hold')) throw new Altered();
    skip(
      'seal',
      'a draft carries no seal and nobody has signed it: unaltered here means that the file agrees with itself',
    );
    skip(
      'key',
      options.key === undefined
        ? 'no fingerprint given, and a draft is not bound to one: compare page 1 with the cell that issued it'
        : 'a draft is bound to no key: the fingerprint could not be compared',
    );
  } catch (error) {
    if (!(error instanceof Altered)) throw error;
    return { file, verdict: 'altered', record, units, steps };
  }
  return { file, verdict: differs ? 'assesses differently' : 'unaltered', record, units, steps };
}

type Broken = (step: string, says: string) => never;

async function openOr(file: string, broken: Broken) {
  try {
    return await openPdf(file);
  } catch (error) {
    if (error instanceof AppError && error.code === 'ALTERED') return broken('file', error.message);
    throw error;
  }
}

function textOf(contents: PdfContents, name: string): string {
  return Buffer.from(contents.attachments.get(name)!).toString('utf8');
}

function readEnclosure(contents: PdfContents, broken: Broken): Enclosure {
  const named = /enclosure:([0-9a-f]{64})/.exec(contents.keywords)?.[1];
  if (named === undefined) return broken('enclosure', 'the file names no enclosure: it is no record of this program');
  if (!contents.attachments.has(ATTACHED.enclosure)) return broken('enclosure', `${ATTACHED.enclosure} is missing`);
  const text = textOf(contents, ATTACHED.enclosure);
  if (sha256Hex(contents.attachments.get(ATTACHED.enclosure)!) !== named) {
    return broken('enclosure', `${ATTACHED.enclosure} was altered: its digest is not the one that the file names`);
  }
  const parsed = Enclosure.safeParse(JSON.parse(text));
  if (!parsed.success) return broken('enclosure', `${ATTACHED.enclosure} is of a form that this program does not know`);
  return parsed.data;
}

function compareAttachments(contents: PdfContents, enclosure: Enclosure, broken: Broken): void {
  for (const { name, sha256 } of enclosure.attachments) {
    const bytes = contents.attachments.get(name);
    if (!bytes) broken('attachments', `${name} is missing`);
    else if (sha256Hex(bytes) !== sha256) broken('attachments', `${name} was altered: its SHA-256 is not ${sha256}`);
  }
  const known = new Set([ATTACHED.enclosure, ...enclosure.attachments.map((item) => item.name)]);
  for (const name of contents.attachments.keys()) {
    if (!known.has(name)) broken('attachments', `${name} was added: the enclosure does not name it`);
  }
}

function readDossierOf(contents: PdfContents, enclosure: Enclosure, broken: Broken) {
  const dossierText = textOf(contents, ATTACHED.dossier);
  if (sha256Hex(dossierText) !== enclosure.dossierSha256) {
    return broken('lot file', `${ATTACHED.dossier} is not the lot file that the enclosure names`);
  }
  const parsed = Dossier.safeParse(JSON.parse(dossierText));
  if (!parsed.success) return broken('lot file', `${ATTACHED.dossier} is of a form that this program does not know`);
  const dossier = parsed.data;
  if (canonicalJson(dossier) !== dossierText) return broken('lot file', `${ATTACHED.dossier} is not in canonical form`);
  for (const item of dossier.pinned) {
    if (sha256Hex(canonicalJson(item.body)) !== item.digest) {
      return broken('lot file', `${item.kind} ${item.key} in ${ATTACHED.dossier} is not what its digest says`);
    }
  }
  const parts = new Map<string, string>();
  for (const part of dossier.parts) {
    if (contents.attachments.has(part.name)) parts.set(part.sha256, textOf(contents, part.name));
  }
  try {
    return { facts: readFacts(dossier, parts), dossierText, parts };
  } catch (error) {
    if (error instanceof AppError) return broken('lot file', error.message);
    throw error;
  }
}

interface Notes {
  readonly holds: (step: string, says: string) => void;
  readonly skip: (step: string, says: string) => void;
  readonly broken: Broken;
}

/** Rendering is a function of the attached data, so the pages can be compared byte for byte. */
async function comparePages(
  bytes: Buffer,
  content: Omit<RecordContent, 'issue'>,
  enclosure: Enclosure,
  { holds, skip, broken }: Notes,
): Promise<void> {
  const { program, node } = enclosure;
  if (program !== PROGRAM || node !== process.versions.node) {
    skip('pages', `rendered by ${program} on Node.js ${node}: this is ${PROGRAM} on ${process.versions.node}`);
    return;
  }
  const rendered = await renderRecord({ ...content, issue: issueOf(enclosure) });
  if (bytes.equals(rendered.pdf)) holds('pages', 'rendered again from the attached data: the same file, byte for byte');
  else broken('pages', 'a page, link or property was altered: rendering the attached data again gives another file');
}
