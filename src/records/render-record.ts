import { Assessment } from '../assessment/assessment.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { type Facts, readFacts } from '../dossier/facts.js';
import { readLotFile } from '../dossier/schema.js';
import type { RecordIdentity } from '../pdf/identity.js';
import type { RecordPage } from '../pdf/page.js';
import { renderTwice } from '../pdf/render.js';
import { sectionAnchor } from '../report/anchors.js';
import { PAGE_WORDS } from '../report/phrases/page-words.js';
import { PAPER } from '../report/phrases/paper.js';
import { recomputeNote } from '../report/phrases/recompute/note.js';
import { ATTACHMENTS } from '../report/phrases/record-attachments.js';
import { COVER } from '../report/phrases/record-cover.js';
import { parseTemplate } from '../report/record-template.js';
import { ATTACHED, type AttachmentRef, type Enclosure, type RecordIssue } from './enclosure.js';
import { familyInWords } from './family-in-words.js';
import type { RecordView } from './record-view.js';
import { SECTIONS } from './sections/catalogue.js';
import { drawCover } from './sections/cover.js';
import { drawMatrix } from './sections/matrix.js';
import { drawTimeline } from './sections/timeline.js';
import { drawUnitPages } from './sections/unit-pages.js';
import { isFinal, stateOf } from './signatures.js';

/** What a record is made of, as texts, so that it can be handed to another thread. Same content, same bytes. */
export interface RecordContent {
  readonly dossierText: string;
  /** Texts of the parts by SHA-256; those of withheld cases are missing. */
  readonly parts: ReadonlyMap<string, string>;
  /** Canonical JSON of the assessment. */
  readonly assessmentText: string;
  readonly templateText: string;
  readonly issue: RecordIssue;
}

export interface RenderedRecord {
  readonly pdf: Uint8Array;
  readonly enclosureText: string;
  readonly enclosureSha256: string;
}

/** What a record is but for its pages: what it says of itself, and the files that it carries. */
export interface Enclosed {
  readonly identity: RecordIdentity;
  readonly view: RecordView;
  readonly files: readonly AttachedFile[];
  readonly enclosureText: string;
}

interface AttachedFile extends AttachmentRef {
  readonly text: string;
}

/**
 * Renders a record, unsealed.
 * @throws as `enclose` does.
 */
export async function renderRecord(content: RecordContent): Promise<RenderedRecord> {
  const enclosed = enclose(content);
  const { identity, view, enclosureText } = enclosed;
  const pdf = await renderTwice(identity, (page) => {
    drawRecord(page, view);
    attachFiles(page, enclosed);
  });
  return { pdf, enclosureText, enclosureSha256: view.enclosureSha256 };
}

/**
 * @throws BadInputError for a template that leaves something out, AppError ALTERED for a dossier that cannot be read.
 */
export function enclose(content: RecordContent): Enclosed {
  const facts = readFacts(readLotFile(content.dossierText), content.parts);
  const assessment = Assessment.parse(JSON.parse(content.assessmentText));
  const template = parseTemplate(content.templateText, ATTACHED.template);
  const files = attachedFiles(content, facts, assessment);
  const enclosure = enclosureOf(content, facts, assessment, template.revision, files);
  const enclosureText = canonicalJson(enclosure);
  const enclosureSha256 = sha256Hex(enclosureText);
  const { record, printedAt, program } = enclosure;
  const identity = {
    number: record.number,
    revision: String(record.revision),
    title: `${COVER.title(enclosure.lot)}${enclosure.demo ? PAPER.demo : ''}`,
    subject: PAPER.subject(enclosure.lot, facts.family.body.family),
    author: facts.family.body.title,
    digest: enclosure.dossierSha256,
    enclosure: enclosureSha256,
    printedAt: new Date(printedAt),
    program,
    state: stateOf(record),
    words: PAGE_WORDS,
  };
  return { identity, view: { facts, assessment, enclosure, enclosureSha256, template }, files, enclosureText };
}

export function attachFiles(page: RecordPage, { files, enclosureText }: Enclosed): void {
  for (const file of files) attach(page, file);
  attach(page, {
    name: ATTACHED.enclosure,
    text: enclosureText,
    mediaType: 'application/json',
    describes: ATTACHMENTS.beside,
  });
}

function drawRecord(page: RecordPage, view: RecordView): void {
  drawCover(page, view);
  drawMatrix(page, view);
  page.heading(2, COVER.contents, { listed: false });
  page.contents(1, 2);
  drawTimeline(page, view);
  drawUnitPages(page, view);
  for (const [index, { section, title, introduction }] of view.template.sections.entries()) {
    page.heading(1, title, { anchor: sectionAnchor(section), newPage: index === 0 });
    if (introduction !== undefined) page.paragraph(introduction, { leads: true });
    SECTIONS[section](page, view);
  }
}

function enclosureOf(
  { dossierText, assessmentText, templateText, issue }: RecordContent,
  facts: Facts,
  assessment: Assessment,
  templateRevision: number,
  files: readonly AttachedFile[],
): Enclosure {
  const assessmentSha256 = sha256Hex(assessmentText);
  return {
    format: 1,
    ...issue,
    record: { ...issue.record, final: isFinal(facts, assessment, { ...issue, assessmentSha256 }) },
    demo: facts.dossier.demo,
    lot: facts.dossier.lot,
    dossierSha256: sha256Hex(dossierText),
    assessmentSha256,
    template: { revision: templateRevision, sha256: sha256Hex(templateText) },
    withheldCases: [...facts.withheldCases],
    attachments: files.map(({ text: _, ...ref }) => ref),
  };
}

const RELATIONSHIP: Readonly<Record<string, 'Source' | 'Supplement'>> = {
  [ATTACHED.dossier]: 'Source',
  [ATTACHED.note]: 'Supplement',
  [ATTACHED.template]: 'Supplement',
  [ATTACHED.family]: 'Supplement',
};

function attach(page: RecordPage, file: Pick<AttachedFile, 'name' | 'text' | 'mediaType' | 'describes'>): void {
  page.attach({
    name: file.name,
    bytes: Buffer.from(file.text, 'utf8'),
    mediaType: file.mediaType,
    relationship: RELATIONSHIP[file.name] ?? 'Data',
    description: file.describes,
  });
}

function attachedFiles(content: RecordContent, facts: Facts, assessment: Assessment): AttachedFile[] {
  const file = (name: string, text: string, mediaType: string, describes: string): AttachedFile => ({
    name,
    text,
    mediaType,
    describes,
    sha256: sha256Hex(text),
    bytes: Buffer.byteLength(text),
  });
  return [
    file(ATTACHED.dossier, content.dossierText, 'application/json', ATTACHMENTS.dossier),
    file(ATTACHED.assessment, content.assessmentText, 'application/json', ATTACHMENTS.assessment),
    ...facts.dossier.parts.flatMap((part) => {
      const text = content.parts.get(part.sha256);
      return text === undefined ? [] : [file(part.name, text, part.mediaType, ATTACHMENTS.part)];
    }),
    file(
      ATTACHED.family,
      familyInWords({ facts, assessment, enclosure: content.issue }),
      'text/plain',
      ATTACHMENTS.family,
    ),
    file(ATTACHED.template, content.templateText, 'application/yaml', ATTACHMENTS.template),
    file(
      ATTACHED.note,
      recomputeNote({ facts, assessment, record: content.issue.record.number }),
      'text/plain',
      ATTACHMENTS.note,
    ),
  ];
}
