import { CapabilityStatement } from '../assessment/family/statement.js';
import { answeredByReview, isAnsweredBy } from '../assessment/family/study-notes.js';
import type { StudyNote } from '../assessment/family/study-result.js';
import { LaterFormError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { sha256Hex } from '../dossier/canonical.js';
import { covers, type SignedStatement } from '../dossier/statement.js';
import type { OpenedPdf } from '../pdf/reading/open-pdf.js';
import type { PdfContents } from '../pdf/reading/read-pdf.js';
import { CARRIED, CapabilityEnclosure, issueOfCapability } from '../records/capability/enclosure.js';
import { renderCapability } from '../records/capability/render.js';
import { sinceTexts } from '../report/phrases/statement-paper.js';
import { checkKey, checkPeople } from './check-key.js';
import { checkHead, type Expected, expectedSeal, expectedSignatures } from './check-ledger.js';
import { checkAnchor, checkWitness } from './check-outside.js';
import { checkDrawn } from './check-pages.js';
import { checkSeal } from './check-seal.js';
import { checkStatements, statementName } from './check-statements.js';
import { compareAttachments, jsonOf, readEnclosure, sayLater, textOf } from './read-carried.js';
import type { Steps, VerifyOptions, VerifyReport } from './report.js';
import { computedAgain } from './verify-statement.js';

/** Whether a PDF carries a capability statement, where records of lots carry a lot file. */
export const isCapabilityPaper = ({ attachments }: PdfContents): boolean => attachments.has(CARRIED.statement);

/**
 * Verifies the paper of a capability statement with nothing but the file: seal, attachments, signatures, audit trail, the
 * statement computed again from its rows, and the pages drawn again.
 */
export async function verifyCapability(
  opened: OpenedPdf,
  { key, people, anchor, authority }: VerifyOptions,
  steps: Steps,
): Promise<Omit<VerifyReport, 'file'>> {
  const { bytes, contents } = opened;
  const read = readEnclosure(contents, CapabilityEnclosure, steps);
  const enclosure = read?.enclosure;
  const certificateSha256 = enclosure && (enclosure.seal?.certificateSha256 ?? null);
  const seal = await checkSeal(bytes, contents, { draft: enclosure?.draft ?? false, certificateSha256 }, steps);
  if (!enclosure) return { answer: steps.answer, record: null, units: [], steps: steps.list };
  if (compareAttachments(contents, enclosure, steps, [CARRIED.statement, CARRIED.note])) {
    checkSigned(enclosure, steps);
    const headKey = checkHead(enclosure, { expected: expectedIn(enclosure), statements: enclosure.signatures }, steps);
    checkStated(contents, enclosure, steps);
    checkReasons(contents, enclosure, steps);
    const previousText = contents.attachments.has(CARRIED.previous) ? textOf(contents, CARRIED.previous) : null;
    const content = { statementText: textOf(contents, CARRIED.statement), previousText };
    const render = () => renderCapability({ ...content, issue: issueOfCapability(enclosure) });
    await checkDrawn(bytes, enclosure, render, { contents, seal }, steps);
    checkKey(key, headKey, { ...enclosure, record: enclosure }, undefined, steps);
    checkPeople(people, enclosure, steps);
  }
  checkWitness(enclosure, authority, steps);
  checkAnchor({ ...enclosure, earlier: [] }, anchor, steps);
  const { family, characteristic, revision: number, draft } = enclosure;
  const statement = { family, characteristic, number, draft, since: sinceTexts(enclosure.since) };
  return { answer: steps.answer, record: null, statement, units: [], steps: steps.list };
}

/** Each signature holds, is on this very statement, and one of them is a review where the paper says so. */
function checkSigned(enclosure: CapabilityEnclosure, steps: Steps): void {
  const { signatures, keys, people, demo, statementSha256, draft } = enclosure;
  const asOfLot = { states: [], lot: '', dossierSha256: statementSha256, forCase: null };
  checkStatements({ ...asOfLot, signatures, keys, people, demo }, undefined, steps);
  for (const signed of signatures) {
    if (covers(signed.statement, statementSha256)) continue;
    const facts = { statement: statementName(signed) };
    steps.broken('signatures', { code: 'signature on another statement', facts });
  }
  if (!draft && !signatures.some(({ statement }) => statement.meaning === 'reviewed')) {
    steps.broken('signatures', { code: 'review not carried' });
  }
}

function checkReasons(contents: PdfContents, { signatures }: CapabilityEnclosure, steps: Steps): void {
  const { data } = CapabilityStatement.safeParse(jsonOf(textOf(contents, CARRIED.statement)));
  const asks = data ? unanswered(data.study.notes, signatures) : [];
  if (asks.length > 0) steps.broken('signatures', { code: 'review without a reason', facts: { asks } });
}

/** A review of a statement that asks for an answer says why it may pass all the same. @returns what nobody answered. */
export function unanswered(notes: readonly StudyNote[], signatures: readonly SignedStatement[]): StudyNote[] {
  const reviews = signatures.filter(({ statement }) => statement.meaning === 'reviewed');
  const isAnswered = reviews.length === 0 || reviews.some(({ statement }) => isAnsweredBy(notes, statement));
  return isAnswered ? [] : answeredByReview(notes);
}

const expectedIn = ({ family, characteristic, statementSha256, signatures, seal }: CapabilityEnclosure): Expected[] => [
  {
    unproven: { thing: 'capability statement' },
    found: (entry) =>
      entry.type === 'capability-stated' &&
      entry.family === family &&
      entry.characteristic === characteristic &&
      entry.digest === statementSha256,
  },
  ...expectedSignatures(signatures),
  ...expectedSeal(seal),
];

/** The statement is the one that is named, comes to the same again, and follows the one before it. */
function checkStated(contents: PdfContents, enclosure: CapabilityEnclosure, steps: Steps): undefined {
  const wrong = (code: 'another statement' | 'statement of unknown form' | 'statement not canonical', name: string) =>
    steps.broken('statement', { code, facts: { name } });
  const text = textOf(contents, CARRIED.statement);
  if (sha256Hex(text) !== enclosure.statementSha256) return wrong('another statement', CARRIED.statement);
  try {
    const { statement, answer, difference, previous } = computedAgain(text);
    const { family, characteristic, number } = statement;
    const isNamed =
      family === enclosure.family && characteristic === enclosure.characteristic && number === enclosure.revision;
    if (!isNamed) return wrong('another statement', CARRIED.statement);
    if (difference === null && answer !== 'holds') return wrong('statement not canonical', CARRIED.statement);
    if (previous !== enclosure.previousSha256) return wrong('another statement', CARRIED.previous);
    const before = contents.attachments.get(CARRIED.previous);
    if (previous !== null && (before === undefined || sha256Hex(before) !== previous)) {
      return wrong('another statement', CARRIED.previous);
    }
    if (difference === null) {
      steps.holds('statement', { code: 'stated alike', facts: { number, compared: previous !== null } });
    } else if (answer === 'altered') {
      steps.broken('statement', { code: 'stated otherwise', facts: { difference } });
    } else {
      const facts = { program: statement.program, own: programName(), difference };
      steps.differs('statement', { code: 'other arithmetic', facts });
    }
  } catch (error) {
    if (error instanceof LaterFormError) {
      return void sayLater('statement', [error.what], enclosure.program, steps);
    }
    // What was forged may be more than the arithmetic is made for.
    return wrong('statement of unknown form', CARRIED.statement);
  }
}
