import type { ComputedClaim } from '../../design-history/claims.js';
import type { DesignRevision } from '../../design-history/design-facts.js';
import { deviceFile } from '../../design-history/device-file.js';
import { approvedScopes } from '../../design-history/suppliers.js';
import type { KindName } from '../../kinds/catalogue.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Fact } from '../../pdf/text.js';
import type { DesignSection } from '../../report/design-template.js';
import { DESIGN_CLAIMS } from '../../report/phrases/design-claims.js';
import { DESIGN_PAPER as WORDS } from '../../report/phrases/design-paper.js';
import { entryText } from '../../report/phrases/kinds.js';
import { drawDocument, drawNamed, entryLink, joined } from './draw-documents.js';
import {
  drawAttachments,
  drawBaselines,
  drawClauses,
  drawLots,
  drawProof,
  drawSignatures,
} from './sections-on-record.js';
import type { DesignPaperView } from './view.js';

type Draw = (pdf: RecordPage, view: DesignPaperView) => void;
type Study = DesignRevision<'design-study'>;

export const DESIGN_DRAWN: Readonly<Record<DesignSection, Draw>> = {
  gaps: drawGaps,
  scope: (pdf, view) => {
    const { design } = view;
    const own = design.current('family').filter(({ key }) => key === design.family);
    drawNamed(pdf, WORDS.family, own);
    drawKinds(pdf, view, 'design-envelope');
  },
  plan: (pdf, view) => drawKinds(pdf, view, 'design-plan'),
  needs: (pdf, view) => drawKinds(pdf, view, 'user-need', 'design-input'),
  outputs: (pdf, view) => {
    drawKinds(pdf, view, 'design-output');
    drawNamed(pdf, WORDS.given, [...view.design.current('specification'), ...view.design.current('recipe')]);
  },
  matrix: drawMatrix,
  risks: (pdf, view) => drawKinds(pdf, view, 'hazard', 'risk-control'),
  verification: (pdf, view) => drawStudies(pdf, view, 'verification', 'process', 'usability'),
  validation: drawValidation,
  reviews: (pdf, view) => drawKinds(pdf, view, 'design-review'),
  software: (pdf, view) => drawKinds(pdf, view, 'software'),
  process: (pdf, { design }) => drawNamed(pdf, WORDS.validations, design.current('process-validation')),
  materials: drawMaterials,
  biological: (pdf, view) => drawStudies(pdf, view, 'biological'),
  degradation: drawDegradation,
  packaging: (pdf, view) => drawStudies(pdf, view, 'sterilisation', 'packaging', 'shelf life'),
  labelling: (pdf, view) => drawKinds(pdf, view, 'labelling-decision'),
  transfer: (pdf, view) => drawKinds(pdf, view, 'design-transfer'),
  changes: (pdf, view) => drawKinds(pdf, view, 'design-change'),
  clauses: drawClauses,
  'device-file': (pdf, { design }) => drawNamed(pdf, WORDS.onTheFloor, deviceFile(design)),
  baselines: drawBaselines,
  lots: drawLots,
  attachments: drawAttachments,
  signatures: drawSignatures,
  proof: drawProof,
  cautions: (pdf, { template }) => pdf.list(Object.values(template.cautions), { small: true }),
};

function drawKinds(pdf: RecordPage, view: DesignPaperView, ...kinds: readonly KindName[]): void {
  const { design } = view;
  const documents = kinds.flatMap((kind) => design.current(kind) as readonly DesignRevision[]);
  if (documents.length === 0) pdf.paragraph(WORDS.noneSentence, { small: true });
  for (const one of documents) drawDocument(pdf, view, one);
}

/** Those of the same owner stand together. */
function drawGaps(pdf: RecordPage, { gaps, design }: DesignPaperView): void {
  const owners = (gap: DesignPaperView['gaps'][number]) => gap.owners.join(', ') || WORDS.nobody;
  const isOpen = ({ state }: DesignPaperView['gaps'][number]) => state !== 'answered';
  pdf.table({
    caption: WORDS.gaps,
    columns: [
      { head: WORDS.for, width: 2 },
      { head: WORDS.gap, width: 6 },
      { head: WORDS.of, width: 3.4 },
      { head: WORDS.by, width: 1.8 },
      { head: WORDS.stateHead, width: 3.6 },
    ],
    rows: [...gaps]
      .sort(
        (a, b) => Number(isOpen(b)) - Number(isOpen(a)) || (owners(a) < owners(b) ? -1 : owners(a) > owners(b) ? 1 : 0),
      )
      .map((gap) => ({
        cells: [
          owners(gap),
          `${gap.title}: ${gap.says}`,
          joined(gap.subjects.map((one) => entryLink(pdf, design, one, entryText(one.kind, one.key, null)))),
          gap.by ?? WORDS.noDay,
          gap.answer === null ? gap.remedy : WORDS.answered(gap.stateSays, gap.answer),
        ],
        attention: isOpen(gap),
      })),
    empty: WORDS.noGap,
  });
}

function drawMatrix(pdf: RecordPage, { design, matrix, back, figures }: DesignPaperView): void {
  for (const figure of figures) pdf.figure(figure);
  const links = (kind: KindName, keys: readonly (string | null)[]) =>
    joined(keys.flatMap((key) => (key === null ? [] : [entryLink(pdf, design, { kind, key })])));
  pdf.table({
    caption: WORDS.forward,
    columns: WORDS.forwardHeads.map((head) => ({ head, width: 1 })),
    rows: matrix.map((row) => [
      links('user-need', [row.need]),
      links('design-input', [row.input]),
      links('design-output', [row.output]),
      links('design-study', row.verifiedBy),
      links('design-study', row.validatedBy),
      links('risk-control', row.controls),
    ]),
    empty: WORDS.noneSentence,
  });
  pdf.table({
    caption: WORDS.back,
    columns: WORDS.backHeads.map((head) => ({ head, width: 1 })),
    rows: back.map((row) => [
      links('design-study', [row.study]),
      links('design-output', row.outputs),
      links('design-input', row.inputs),
      links('user-need', row.needs),
      links('risk-control', row.controls),
      row.lots.join(', ') || WORDS.none,
    ]),
    empty: WORDS.noneSentence,
  });
}

function drawStudies(pdf: RecordPage, view: DesignPaperView, ...purposes: readonly Study['body']['purpose'][]): void {
  const studies = view.design.current('design-study').filter(({ body }) => purposes.includes(body.purpose));
  if (studies.length === 0) pdf.paragraph(WORDS.noneSentence, { small: true });
  for (const study of studies) {
    drawDocument(pdf, view, study, claimFacts(view.claims.get(study.key), study), ['criterion']);
  }
}

/** With those that were done for another purpose, and show a need to be met beside it. */
function drawValidation(pdf: RecordPage, view: DesignPaperView): void {
  drawStudies(pdf, view, 'validation');
  const others = view.design
    .current('design-study')
    .filter(({ body }) => body.purpose !== 'validation' && body.validates !== undefined);
  if (others.length === 0) return;
  const links = joined(others.map((study) => entryLink(pdf, view.design, study)));
  pdf.paragraph([`${WORDS.alsoValidate}: `, ...links], { small: true });
}

/** What the program computes of a study, with each value, so that a stranger comes to it again. */
function claimFacts(claim: ComputedClaim | undefined, { body }: Study): Fact[] {
  const asked: Fact = [WORDS.asked, DESIGN_CLAIMS.criterion(body.criterion)];
  if (claim === undefined) return [asked];
  const { values, losses } = claim;
  const told = [
    ...values.map(({ lot, specimen, piece, value }) => WORDS.value(lot, specimen, piece, value)),
    ...losses.map(WORDS.loss),
  ];
  return [
    asked,
    [WORDS.computed, `${DESIGN_CLAIMS.says(claim)} (${DESIGN_CLAIMS.from(claim)})`],
    ...(told.length === 0 ? [] : [[losses.length > 0 ? WORDS.losses : WORDS.values, told.join('; ')] as const]),
  ];
}

/** They stand whole in the sections of their purposes: here is where to find them. */
function drawDegradation(pdf: RecordPage, { design, claims }: DesignPaperView): void {
  const studies = design.current('design-study').filter(({ body }) => isOfLoss(body));
  pdf.table({
    caption: WORDS.agedStudies,
    columns: [
      { head: WORDS.study, width: 3 },
      { head: WORDS.aged, width: 4 },
      { head: WORDS.asked, width: 4 },
      { head: WORDS.computed, width: 3 },
    ],
    rows: studies.map((study) => [
      entryLink(pdf, design, study),
      study.body.aged ?? WORDS.notAged,
      DESIGN_CLAIMS.criterion(study.body.criterion),
      claims.get(study.key)?.answer ?? study.body.result,
    ]),
    empty: WORDS.noneSentence,
  });
}

/** On aged parts, of a loss against time, or of mass or thickness lost by time. */
const isOfLoss = ({ aged, criterion }: Study['body']): boolean =>
  aged !== undefined || criterion.by === 'loss against window' || /^(mm|um|g\/m2|mg\/cm2)\/(a|d)$/.test(criterion.ucum);

function drawMaterials(pdf: RecordPage, { design }: DesignPaperView): void {
  pdf.table({
    caption: WORDS.suppliers,
    columns: [
      { head: WORDS.material, width: 4 },
      { head: WORDS.supplier, width: 3 },
      { head: WORDS.since, width: 2 },
      { head: WORDS.until, width: 2 },
    ],
    rows: approvedScopes(design).flatMap(({ scope, suppliers }) =>
      suppliers.map(({ supplier, since, to }) => [scope, supplier, since, to]),
    ),
    empty: WORDS.noneSentence,
  });
  drawNamed(pdf, WORDS.materials, design.current('material-specification'));
}
