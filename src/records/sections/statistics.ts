import type { CapabilityResult } from '../../assessment/assessment.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { RecordPage } from '../../pdf/page.js';
import { familyAnchor, short } from '../../report/anchors.js';
import { histogramFigure, historyFigure } from '../../report/capability-figures.js';
import { withinCited } from '../../report/cited-statement.js';
import type { FamilyBefore } from '../../report/family-before.js';
import type { LotFigure } from '../../report/lot-figure.js';
import { chartLimitsText } from '../../report/phrases/capability.js';
import { CAPABILITY_LINE, capabilitySentence, notedOf } from '../../report/phrases/capability-line.js';
import { CITED } from '../../report/phrases/cited-statement.js';
import { STATISTICS } from '../../report/phrases/record-statistics.js';
import { ATTACHED } from '../enclosure.js';
import type { RecordView } from '../record-view.js';

/** So many charts stand beside each other. */
const HISTORY = { width: 237, plotHeight: 36 };
const HISTORIES_BESIDE = 2;
const SPREAD = { width: 154, plotHeight: 44 };
const SPREADS_BESIDE = 3;

/** The family over its earlier builds: never this lot alone, which is decided on its units. */
export function drawStatistics(pdf: RecordPage, view: RecordView): void {
  const { facts, template } = view;
  const lines = familyLines(view);
  pdf.paragraph(STATISTICS.poolingRule(facts.specification.body.pooling.rationale), { small: true });
  pdf.callout({ kind: 'note', title: STATISTICS.readWithCare, items: [template.cautions.statistics], small: true });
  drawCited(pdf, view, lines);
  const before = beforeOf(view);
  const once = notesOfAll(lines);
  pdf.table({
    caption: STATISTICS.family,
    columns: [
      { head: STATISTICS.characteristic, width: 2.6 },
      { head: STATISTICS.earlierValuesBuilds, width: 1.8 },
      { head: STATISTICS.meanAndSpread, width: 1.8 },
      { head: STATISTICS.ppkAndBound, width: 2.8 },
      { head: STATISTICS.sentence, width: 8.4 },
    ],
    rows: lines.map(({ item, capability }) => ({
      cells: [
        CAPABILITY_LINE.characteristic(item),
        CAPABILITY_LINE.earlier(capability),
        CAPABILITY_LINE.meanAndSpread(item, capability),
        CAPABILITY_LINE.index(item, capability),
        capabilitySentence(item, capability, before, once),
      ],
      anchor: familyAnchor(item.characteristic),
    })),
  });
  if (once.length > 0) pdf.paragraph(STATISTICS.ofEach(once), { small: true });
  if (lines.some(({ capability }) => capability.applied !== null)) {
    pdf.paragraph(STATISTICS.appliedNote, { small: true });
  }
  const limits = chartLimitsText(lines.flatMap(({ capability }) => capability.chart ?? []));
  pdf.paragraph([...(limits === '' ? [] : [limits]), STATISTICS.inFull(ATTACHED.family)].join(' '), { small: true });
  const histories = lines.flatMap(({ item, capability }) => historyFigure(item, capability, { size: HISTORY }) ?? []);
  // Without an index the bars would show the same values once more.
  const spreads = lines
    .filter(({ capability }) => capability.ppk !== null)
    .flatMap(({ item, capability }) => histogramFigure(item, capability, SPREAD) ?? []);
  drawBeside(pdf, histories, HISTORIES_BESIDE);
  if (histories.length > 0) pdf.paragraph(STATISTICS.charts(limits !== ''), { small: true });
  if (spreads.length > 0) pdf.paragraph(STATISTICS.evidence, { small: true });
  drawBeside(pdf, spreads, SPREADS_BESIDE);
}

/** What the program notes of each characteristic alike: told once. */
function notesOfAll(lines: readonly FamilyLine[]): string[] {
  const [first, ...others] = lines.map(({ capability }) => notedOf(capability));
  if (first === undefined || others.length === 0) return [];
  return first.filter((note) => others.every((own) => own.includes(note)));
}

/** It cites what was stated before, and states nothing anew: one sentence for each characteristic. */
function drawCited(pdf: RecordPage, { enclosure }: RecordView, lines: readonly FamilyLine[]): void {
  const cited = new Map((enclosure.statedBefore ?? []).map((one) => [one.characteristic, one]));
  const without = lines.filter(({ item }) => !cited.has(item.characteristic)).map(({ item }) => item.title);
  const rows = lines.flatMap(({ item, capability }) => {
    const one = cited.get(item.characteristic);
    if (one === undefined) return [];
    const own = withinCited(one, capability);
    const digest = { text: short(one.digest), style: 'mono' as const };
    return [
      {
        cells: [item.title, [CITED.statementOf(one), digest], CITED.saysOf(one), CITED.ownOf(own)],
        attention: own !== undefined && own.within < own.points,
      },
    ];
  });
  if (rows.length > 0) {
    pdf.table({
      caption: CITED.caption,
      columns: [
        { head: CITED.characteristic, width: 2.4 },
        { head: CITED.statement, width: 5 },
        { head: CITED.says, width: 6.2 },
        { head: CITED.own, width: 3.2 },
      ],
      rows,
    });
  }
  if (without.length > 0) pdf.paragraph(CITED.none(without), { small: true });
}

/** Charts in rows. What all of them show stands once, below the last. */
function drawBeside(pdf: RecordPage, figures: readonly LotFigure[], beside: number): void {
  for (let at = 0; at < figures.length; at += beside) {
    pdf.figures(figures.slice(at, at + beside).map(({ scene, alt }) => ({ scene, alt })));
  }
}

export interface FamilyLine {
  readonly item: Characteristic;
  readonly capability: CapabilityResult;
}

/** Every characteristic of the specification with what is known of the family. */
export const familyLines = ({ facts, assessment }: Pick<RecordView, 'facts' | 'assessment'>): FamilyLine[] =>
  assessment.capability.map((capability) => ({
    capability,
    item: facts.specification.body.characteristics.find(
      ({ characteristic }) => characteristic === capability.characteristic,
    )!,
  }));

/** What the record before said; a copy for one institution compares nothing. */
export const beforeOf = ({
  enclosure,
}: {
  readonly enclosure: Pick<RecordView['enclosure'], 'forCase' | 'familyBefore'>;
}): FamilyBefore | null | undefined => (enclosure.forCase === null ? (enclosure.familyBefore ?? null) : undefined);
