import type { Assessment } from '../assessment/assessment.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { ATTACHED, type AttachmentRef, type Enclosure } from './enclosure.js';
import type { RecordPage } from './pdf/page.js';
import { renderTwice } from './pdf/render.js';
import { recomputeNote } from './recompute-note.js';
import type { RecordView } from './record-view.js';
import { drawAttachments } from './sections/attachments.js';
import { drawBuildLog } from './sections/build-log.js';
import { drawCautions } from './sections/cautions.js';
import { drawChecks } from './sections/checks.js';
import { drawCover } from './sections/cover.js';
import { drawIdentity } from './sections/identity.js';
import { drawMaterials } from './sections/materials.js';
import { drawRecipes } from './sections/recipe.js';
import { drawResults } from './sections/results.js';
import { drawStatistics } from './sections/statistics.js';

/** What a record is made of. The same content gives the same bytes. */
export interface RecordContent {
  readonly facts: Facts;
  readonly dossierText: string;
  /** Texts of the parts by SHA-256. */
  readonly parts: ReadonlyMap<string, string>;
  readonly assessment: Assessment;
  readonly issue: Omit<Enclosure, 'format' | 'attachments' | 'dossierSha256' | 'assessmentSha256' | 'demo' | 'lot'>;
}

export interface RenderedRecord {
  readonly pdf: Buffer;
  readonly enclosureText: string;
  readonly enclosureSha256: string;
}

interface AttachedFile extends AttachmentRef {
  readonly text: string;
}

const SECTIONS: readonly ((pdf: RecordPage, view: RecordView) => void)[] = [
  drawIdentity,
  drawMaterials,
  drawRecipes,
  drawBuildLog,
  drawResults,
  drawChecks,
  drawStatistics,
  drawAttachments,
];

export async function renderRecord(content: RecordContent): Promise<RenderedRecord> {
  const { facts, assessment, issue } = content;
  const { lot, demo } = facts.dossier;
  const files = attachedFiles(content);
  const enclosure: Enclosure = {
    format: 1,
    ...issue,
    demo,
    lot,
    dossierSha256: sha256Hex(content.dossierText),
    assessmentSha256: sha256Hex(canonicalJson(assessment)),
    attachments: files.map(({ text: _, ...ref }) => ref),
  };
  const enclosureText = canonicalJson(enclosure);
  const enclosureSha256 = sha256Hex(enclosureText);
  const view: RecordView = { facts, assessment, enclosure, enclosureSha256 };
  const pdf = await renderTwice(
    {
      number: issue.record.number,
      revision: String(issue.record.revision),
      title: `Lot record ${lot}${demo ? ' (fictional demo data)' : ''}`,
      subject: `Lot ${lot} of family ${facts.family.body.family}`,
      author: facts.family.body.title,
      digest: enclosure.dossierSha256,
      enclosure: enclosureSha256,
      printedAt: new Date(issue.printedAt),
      program: issue.program,
      draft: issue.record.draft,
    },
    (page) => {
      drawCover(page, view);
      page.pageBreak();
      page.heading(1, 'Contents', { listed: false });
      page.contents();
      drawCautions(page);
      for (const draw of SECTIONS) draw(page, view);
      for (const file of files) attach(page, file);
      attach(page, {
        name: ATTACHED.enclosure,
        text: enclosureText,
        mediaType: 'application/json',
        describes: 'what the record shows beside the lot file',
      });
    },
  );
  return { pdf, enclosureText, enclosureSha256 };
}

function attach(page: RecordPage, file: Pick<AttachedFile, 'name' | 'text' | 'mediaType' | 'describes'>): void {
  page.attach({
    name: file.name,
    bytes: Buffer.from(file.text, 'utf8'),
    mediaType: file.mediaType,
    relationship: file.name === ATTACHED.note ? 'Supplement' : file.name === ATTACHED.dossier ? 'Source' : 'Data',
    description: file.describes,
  });
}

function attachedFiles({ facts, dossierText, parts, assessment, issue }: RecordContent): AttachedFile[] {
  const file = (name: string, text: string, mediaType: string, describes: string): AttachedFile => ({
    name,
    text,
    mediaType,
    describes,
    sha256: sha256Hex(text),
    bytes: Buffer.byteLength(text),
  });
  return [
    file(ATTACHED.dossier, dossierText, 'application/json', 'lot file: the frozen facts'),
    file(ATTACHED.assessment, canonicalJson(assessment), 'application/json', 'what the program says of them'),
    ...facts.dossier.parts.flatMap((part) => {
      const text = parts.get(part.sha256);
      return text === undefined ? [] : [file(part.name, text, part.mediaType, 'part of the lot file')];
    }),
    file(
      ATTACHED.note,
      recomputeNote({ lot: facts.dossier.lot, record: issue.record.number }),
      'text/plain',
      'how to recompute without this program',
    ),
  ];
}
