import type { RecordPage } from '../../pdf/page.js';
import type { Span, Text } from '../../pdf/text-layout.js';
import { EXCEPTIONS_ANCHOR, sectionAnchor } from '../../report/anchors.js';
import type { LotSummary } from '../../report/lot-summary.js';
import { LOT_SUMMARY } from '../../report/phrases/lot-summary.js';
import { COVER } from '../../report/phrases/record-cover.js';
import { notCheckedLines, type SummaryLine, summaryLines } from '../../report/summary-lines.js';
import { type RecordView, tellsOf } from '../record-view.js';
import { ALL_OF_IT, asLongAsFits, type Brevity } from './cover-brevity.js';

/** How many exceptions there are beside those that page 1 has room for. */
export const leftOff = (view: RecordView, summary: LotSummary, { mostExceptions }: Brevity): number =>
  Math.max(0, linesOf(view, summary, ALL_OF_IT).length - mostExceptions);

/** Every exception with its page, and then what was not checked. The box is never without a line. */
export function exceptionItems(pdf: RecordPage, view: RecordView, summary: LotSummary, brevity: Brevity): Text[] {
  const lines = linesOf(view, summary, brevity).slice(0, brevity.mostExceptions);
  const left = leftOff(view, summary, brevity);
  const unknown = notCheckedLines(summary);
  return [
    ...(lines.length === 0 ? [LOT_SUMMARY.empty] : lines.map((line) => withPage(pdf, line))),
    ...(left === 0 ? [] : [withPage(pdf, { says: COVER.moreExceptions(left), anchors: [EXCEPTIONS_ANCHOR] })]),
    ...(unknown.length === 0 ? [] : [notCheckedText(pdf, unknown)]),
  ];
}

const notCheckedText = (pdf: RecordPage, lines: readonly SummaryLine[]): Text => [
  LOT_SUMMARY.notCheckedLead(lines.length),
  ...lines.flatMap((line, index) => [index === 0 ? '' : '; ', ...withPage(pdf, line)]),
];

/** All of them once more, behind page 1: where that had no room for each. */
export function drawAllExceptions(pdf: RecordPage, view: RecordView, summary: LotSummary): void {
  pdf.heading(2, COVER.allExceptions, { listed: false, anchor: EXCEPTIONS_ANCHOR });
  pdf.list(
    linesOf(view, summary, ALL_OF_IT).map((line) => withPage(pdf, line)),
    { small: true },
  );
}

const linesOf = (view: RecordView, summary: LotSummary, brevity: Brevity): SummaryLine[] =>
  [...summaryLines(summary, view.facts, tellsOf(view), brevity.isBrief), ...linesOfStates(view)].map((line) => ({
    ...line,
    says: asLongAsFits(line.says, brevity),
  }));

/** What lies outside the lot file and is told on page 1 all the same. */
function linesOfStates({ enclosure: { states } }: RecordView): SummaryLine[] {
  const refused = states.filter(({ what }) => what === 'act-refused').length;
  const warned = [...new Set(states.flatMap(({ warns }) => warns ?? []))];
  const anchors = [sectionAnchor('release')];
  return [
    ...warned.map((says) => ({ says: COVER.warned(says), anchors })),
    ...(refused === 0 ? [] : [{ says: COVER.refused(refused), anchors }]),
  ];
}

function withPage(pdf: RecordPage, { says, anchors }: SummaryLine): Span[] {
  const [first, last] = anchors.map((anchor) => pdf.pageOf(anchor));
  return [`${says}, `, { text: LOT_SUMMARY.page(first!, last), to: anchors[0]! }];
}
