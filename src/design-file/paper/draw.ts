import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { DESIGN_PAPER as WORDS } from '../../report/phrases/design-paper.js';
import { mono, sectionAnchorOf } from './draw-documents.js';
import { DESIGN_DRAWN } from './sections.js';
import type { DesignPaperView } from './view.js';

/** A section and the head of its first document stay together. */
const WITH_ITS_FIRST = 120;

/** The answer first: whose gaps are open. Then every section in the order of the template. */
export function drawDesign(pdf: RecordPage, view: DesignPaperView): void {
  const { content, gaps, enclosure, template } = view;
  const { family, asOf } = content;
  const open = gaps.filter(({ state }) => state !== 'answered');
  pdf.title(WORDS.title(family), WORDS.state(asOf.day, enclosure.draft, enclosure.demo));
  pdf.paragraph([{ text: WORDS.gapsOf(open.length, gaps.length - open.length), style: 'bold' }]);
  const owners = new Map<string, number>();
  for (const gap of open) {
    const owner = gap.owners.join(', ') || WORDS.nobody;
    owners.set(owner, (owners.get(owner) ?? 0) + 1);
  }
  if (owners.size > 0) {
    const items = [...owners].map(([owner, count]) => WORDS.owes(owner, count));
    pdf.callout({ kind: 'exception', title: WORDS.openItems, items });
  }
  pdf.callout({ kind: 'caution', title: WORDS.care, items: [template.cautions.clinical], small: true });
  pdf.facts(
    [
      [WORDS.familyHead, family],
      [WORDS.asOf, WORDS.head(asOf.day, asOf.entries)],
      [WORDS.documents, WORDS.counted(content.revisions.length, content.made.length)],
      [WORDS.design, [mono(enclosure.designSha256)]],
      [WORDS.printed, WORDS.printedBy(timeText(enclosure.printedAt), enclosure.printedBy, enclosure.program)],
      [WORDS.names, WORDS.namesSay],
    ],
    { small: true },
  );
  pdf.heading(2, WORDS.contents, { listed: false });
  pdf.contents(1, 2);
  for (const [index, { section, title, introduction }] of template.sections.entries()) {
    pdf.heading(1, title, { anchor: sectionAnchorOf(section), newPage: index === 0, keepPt: WITH_ITS_FIRST });
    if (introduction !== undefined) pdf.paragraph(introduction, { leads: true });
    DESIGN_DRAWN[section](pdf, view);
  }
}
