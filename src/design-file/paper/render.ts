import { computedClaims } from '../../design-history/claims.js';
import { DesignIndex } from '../../design-history/design-index.js';
import { isDraft } from '../../design-history/draft.js';
import { findGaps } from '../../design-history/find-gaps.js';
import { traceBack } from '../../design-history/trace-back.js';
import { traceMatrix } from '../../design-history/trace-matrix.js';
import { canonicalJson, sha256Hex } from '../../dossier/canonical.js';
import type { RecordIdentity } from '../../pdf/identity.js';
import { renderTwice } from '../../pdf/render.js';
import { ATTACHED, type AttachmentRef } from '../../records/enclosure.js';
import type { RenderedRecord } from '../../records/render-record.js';
import { parseDesignTemplate } from '../../report/design-template.js';
import { matrixFigures } from '../../report/matrix-figure.js';
import { DESIGN_FILE_WORDS, DESIGN_PAPER, recomputeDesign } from '../../report/phrases/design-paper.js';
import { PAPER } from '../../report/phrases/paper.js';
import { gapInWords } from '../design-answer.js';
import { DesignContent, type EvidenceFile, factsIn } from './content.js';
import { drawDesign } from './draw.js';
import { DESIGN_CARRIES, type DesignEnclosure, type DesignIssue, designNumber } from './enclosure.js';

/** What the file of a design is made of, as texts, so that it can be handed to another thread. Same content, same bytes. */
export interface DesignFileContent {
  /** Canonical JSON. */
  readonly designText: string;
  readonly templateText: string;
  /** In the order of their names. */
  readonly evidence: readonly EvidenceFile[];
  readonly issue: DesignIssue;
}

interface Carried extends AttachmentRef {
  readonly content: Buffer;
}

/**
 * Renders the file of a design with all that it rests on, unsealed.
 * @throws ZodError for a content of another form; BadInputError for a template that leaves something out.
 */
export async function renderDesign(given: DesignFileContent): Promise<RenderedRecord & { readonly draft: boolean }> {
  const { designText, templateText, issue } = given;
  const content = DesignContent.parse(JSON.parse(designText));
  const template = parseDesignTemplate(issue.order, templateText, DESIGN_CARRIES.template);
  const facts = factsIn(content);
  const design = new DesignIndex(facts);
  const gaps = findGaps(facts, design);
  const [matrix, back] = [traceMatrix(design), traceBack(design)];
  const files = carriedIn(given);
  const { family, asOf } = content;
  const enclosure: DesignEnclosure = {
    ...issue,
    ...{ format: 1, paper: 'design history', number: designNumber(family), family, revision: asOf.entries },
    draft: isDraft(design, gaps),
    designSha256: sha256Hex(designText),
    attachments: files.map(({ content: _, ...ref }) => ref),
  };
  const enclosureText = canonicalJson(enclosure);
  const enclosureSha256 = sha256Hex(enclosureText);
  const identity: RecordIdentity = {
    ...{ number: enclosure.number, revision: String(enclosure.revision) },
    title: `${DESIGN_PAPER.title(family)}${issue.demo ? PAPER.demo : ''}`,
    subject: DESIGN_PAPER.subject(family, asOf.day),
    author: issue.program,
    ...{ digest: enclosure.designSha256, enclosure: enclosureSha256 },
    printedAt: new Date(issue.printedAt),
    program: issue.program,
    state: enclosure.draft ? 'draft' : 'final',
    words: DESIGN_FILE_WORDS,
  };
  const view = {
    ...{ content, design, enclosure, template, matrix, back },
    gaps: gaps.map(gapInWords),
    figures: matrixFigures(family, matrix, back, gaps),
    claims: new Map(computedClaims(design).map((claim) => [claim.study, claim])),
  };
  const carried = [...files, enclosed(enclosureText)];
  const pdf = await renderTwice(identity, (page) => {
    drawDesign(page, view);
    for (const file of carried) {
      page.attach({
        name: file.name,
        bytes: file.content,
        mediaType: file.mediaType,
        relationship: file.name === DESIGN_CARRIES.design ? 'Source' : 'Supplement',
        description: file.describes,
      });
    }
  });
  return { pdf, enclosureText, enclosureSha256, draft: enclosure.draft };
}

const enclosed = (text: string) => ({
  ...{
    name: ATTACHED.enclosure,
    content: Buffer.from(text, 'utf8'),
    mediaType: 'application/json',
    describes: DESIGN_PAPER.carries.enclosure,
  },
});

function carriedIn({ designText, templateText, evidence }: DesignFileContent): Carried[] {
  const file = (name: string, content: Buffer, mediaType: string, describes: string): Carried => ({
    ...{ name, content, mediaType, describes, sha256: sha256Hex(content), bytes: content.length },
  });
  const text = (name: string, content: string, mediaType: string, describes: string) =>
    file(name, Buffer.from(content, 'utf8'), mediaType, describes);
  const { design, template, note, received } = DESIGN_PAPER.carries;
  return [
    text(DESIGN_CARRIES.design, designText, 'application/json', design),
    text(DESIGN_CARRIES.template, templateText, 'application/yaml', template),
    text(DESIGN_CARRIES.note, recomputeDesign, 'text/plain', note),
    // The same bytes, and no copy of them.
    ...evidence.map(({ name, bytes: { buffer, byteOffset, length } }) =>
      file(name, Buffer.from(buffer, byteOffset, length), 'application/octet-stream', received),
    ),
  ];
}
