import { stepsReleased } from '../dossier/unit-course.js';
import { type OpenedPdf, openPdf, UnopenedPdf } from '../pdf/reading/open-pdf.js';
import { ATTACHED, Enclosure } from '../records/enclosure.js';
import { courseOf, standsOver } from '../records/signatures.js';
import { ANSWER_FILE } from '../trace/carried-answer.js';
import { checkAnswer } from './check-answer.js';
import { type AssessedUnit, checkAssessment } from './check-assessment.js';
import { checkCourse } from './check-course.js';
import { checkEarlier } from './check-earlier.js';
import { checkEvidence } from './check-evidence.js';
import { checkKey, checkPeople, readFingerprint } from './check-key.js';
import { checkLedger } from './check-ledger.js';
import { checkAnchor, checkWitness } from './check-outside.js';
import { checkPages } from './check-pages.js';
import { checkSeal, type HoldingSeal } from './check-seal.js';
import { checkStatements } from './check-statements.js';
import { checkSummaries } from './check-summaries.js';
import { compareAttachments, isRecord, readDossier, readEnclosure, textOf } from './read-carried.js';
import { Steps, type VerifiedUnit, type VerifyOptions, type VerifyReport } from './report.js';
import { isCapabilityPaper, verifyCapability } from './verify-capability.js';
import { isDesignFile, verifyDesign } from './verify-design.js';

/**
 * Verifies a record with nothing but the file: its seal, the attachments against the enclosure, the lot file against
 * its parts, what people signed, the audit trail under it, the assessment computed again, and the pages rendered again.
 * Goes on after something that does not hold as far as it can, so that everything that was altered is named.
 * @throws BadInputError when there is no such file or folder, or the fingerprint is none.
 */
export async function verifyRecord(file: string, options: VerifyOptions = {}): Promise<VerifyReport> {
  const trusted = options.key === undefined ? undefined : readFingerprint(options.key, '--key');
  const people = options.people === undefined ? undefined : readFingerprint(options.people, '--people');
  const steps = new Steps();
  const opened = await openOr(file, steps);
  if (opened && isCapabilityPaper(opened.contents)) {
    return { file, ...(await verifyCapability(opened, { ...options, key: trusted, people }, steps)) };
  }
  if (opened && isDesignFile(opened.contents)) {
    return { file, ...(await verifyDesign(opened, { ...options, key: trusted, people }, steps)) };
  }
  if (opened?.contents.attachments.has(ANSWER_FILE)) {
    const paper = await checkAnswer(opened, trusted, steps);
    return { file, answer: steps.answer, record: null, paper, units: [], steps: steps.list };
  }
  const read = opened && readEnclosure(opened.contents, Enclosure, steps);
  const enclosure = read?.enclosure;
  const seal = opened && (await sealOf(opened, enclosure, steps));
  let units: VerifyReport['units'] = [];
  if (opened && enclosure) {
    units = await checkCarried({ ...opened, enclosure, seal }, { ...options, key: trusted, people }, steps);
    await checkEarlier(enclosure, options.with, steps);
    checkWitness(enclosure, options.authority, steps);
    checkAnchor(enclosure, options.anchor, steps);
  } else if (opened && read?.attached) {
    compareAttachments(opened.contents, read.attached, steps);
    for (const step of NOT_WITHOUT_ENCLOSURE) steps.skip(step, { code: 'enclosure not read' });
  }
  return { file, answer: steps.answer, record: enclosure?.record ?? null, units, steps: steps.list };
}

/** What nothing can be said of while only a later version reads what the record says of itself. */
const NOT_WITHOUT_ENCLOSURE = [
  'lot file',
  'signatures',
  'audit trail',
  'first page',
  'assessment',
  'pages',
  'evidence',
  'key',
  'earlier records',
] as const;

interface RecordFile extends OpenedPdf {
  readonly enclosure: Enclosure;
  readonly seal: HoldingSeal | undefined;
}

/** Checks what the record carries, as far as one thing can be read without the one before it. */
export async function checkCarried(
  { bytes, contents, enclosure, seal }: RecordFile,
  { key, people, evidence }: VerifyOptions,
  steps: Steps,
): Promise<VerifyReport['units']> {
  if (!compareAttachments(contents, enclosure, steps)) return [];
  const carried = readDossier(contents, enclosure, steps);
  if (!carried) return [];
  const { facts, dossierText, parts } = carried;
  checkStatements(enclosure, facts, steps);
  checkCourse(enclosure, facts, steps);
  const headKey = checkLedger(enclosure, facts, steps);
  if (!facts) {
    for (const step of ['assessment', 'pages', 'evidence'] as const) steps.skip(step, { code: 'lot file not read' });
    checkKey(key, headKey, enclosure, facts, steps);
    checkPeople(people, enclosure, steps);
    return [];
  }
  const assessmentText = textOf(contents, ATTACHED.assessment);
  // A copy for one institution says nothing of the implants of others.
  const shown = new Set(
    facts.lot.body.implants
      .filter((implant) => !facts.withheldCases.includes(implant.case))
      .map(({ serial }) => serial),
  );
  checkSummaries(enclosure, facts, assessmentText, steps);
  const units = checkAssessment(assessmentText, facts, steps).filter(({ serial }) => shown.has(serial));
  const content = { dossierText, parts, assessmentText, templateText: textOf(contents, ATTACHED.template) };
  await checkPages(bytes, content, enclosure, { contents, seal }, steps);
  if (evidence === undefined) steps.skip('evidence', { code: 'no folder given' });
  else await checkEvidence(facts, evidence, steps);
  checkKey(key, headKey, enclosure, facts, steps);
  checkPeople(people, enclosure, steps);
  return units.map((unit) => decided(unit, enclosure));
}

/** With what people decided on it, as the statements of the record say. */
function decided(unit: AssessedUnit, enclosure: Enclosure): VerifiedUnit {
  const course = courseOf({ enclosure }, unit.serial);
  const statement = course.decided?.statement;
  const decision = statement
    ? { meaning: statement.meaning, step: statement.step, by: statement.person.name, at: statement.at }
    : null;
  return { ...unit, decision, releasedFor: stepsReleased(course), over: standsOver({ enclosure }, unit.serial) };
}

/** Undefined for what is no record, and for one of which nothing can be read. */
async function openOr(file: string, steps: Steps): Promise<OpenedPdf | undefined> {
  try {
    const opened = await openPdf(file);
    const { contents, damage } = opened;
    if (!isRecord(contents)) {
      const inside = [...contents.attachments].flatMap(([name, bytes]) => (isPdf(bytes) ? [name] : []));
      return steps.broken('file', { code: 'no record', facts: { why: { code: 'another PDF', inside } } });
    }
    const facts = { pages: contents.pages.length, attachments: contents.attachments.size };
    if (damage === undefined) steps.holds('file', { code: 'file is whole', facts });
    else steps.broken('file', { code: 'file is damaged', facts: { damage } });
    return opened;
  } catch (error) {
    if (!(error instanceof UnopenedPdf)) throw error;
    const { isMarked, why } = error;
    return steps.broken('file', { code: isMarked ? 'file unreadable' : 'no record', facts: { why } });
  }
}

const isPdf = (bytes: Uint8Array): boolean => Buffer.from(bytes.subarray(0, 1024)).includes('%PDF-');

function sealOf({ bytes, contents }: OpenedPdf, enclosure: Enclosure | undefined, steps: Steps) {
  const certificateSha256 = enclosure && (enclosure.seal?.certificateSha256 ?? null);
  return checkSeal(bytes, contents, { draft: enclosure?.record.draft ?? false, certificateSha256 }, steps);
}
