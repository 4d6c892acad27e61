import { limitsText } from '../../assessment/limits.js';
import type { Facts } from '../../dossier/facts.js';
import { enteredLate } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { RecordPage } from '../pdf/page.js';
import type { Text } from '../pdf/text-layout.js';
import { type RecordView, resultAnchor, short } from '../record-view.js';

/** Plan against result: each value with its limit, its verdict, and the way to its evidence. */
export function drawResults(pdf: RecordPage, view: RecordView): void {
  const { facts, assessment } = view;
  for (const item of facts.specification.body.characteristics) {
    pdf.heading(2, item.title);
    pdf.facts([
      ['Limits', `${limitsText(item)} ${item.ucum}${item.target === undefined ? '' : `, target ${item.target}`}`],
      ['Method', `${item.method.method} revision ${item.method.revision}`],
      [
        'Measured on',
        `${item.measuredOn}${item.zoneClass ? `, zone class ${item.zoneClass}` : ''}, ${item.replicates} value(s) each`,
      ],
      ['Decision rule', decisionText(item)],
      ['Rounding', roundingText(item)],
      ['Due', item.due.replace('-', ' ')],
    ]);
    pdf.table({
      caption: `${item.title}, each planned value`,
      columns: [
        { head: 'Implant', width: 2 },
        { head: 'Specimen', width: 2 },
        { head: 'Replicate', width: 1.5, align: 'right' },
        { head: 'Value', unit: item.ucum, width: 1.6, align: 'decimal' },
        { head: 'Verdict', width: 2.4 },
        { head: 'Why', width: 4 },
        { head: 'Row', width: 0.8 },
      ],
      rows: assessment.characteristics
        .filter((verdict) => verdict.characteristic === item.characteristic)
        .flatMap((verdict) =>
          verdict.values.map((value) => ({
            cells: [
              verdict.unit,
              value.piece ? `${value.specimen}/${value.piece}` : value.specimen,
              String(value.replicate),
              value.value || 'missing',
              value.verdict,
              value.why,
              rowLink(value.row),
            ],
            attention: value.verdict !== 'conforms',
          })),
        ),
      empty: 'No specimen is planned for this characteristic.',
    });
  }
  drawEvidence(pdf, facts);
  drawCorrections(pdf, facts);
}

const rowLink = (row: number | null): Text => (row === null ? 'none' : [{ text: String(row), to: resultAnchor(row) }]);

export function decisionText(item: Characteristic): string {
  return item.decision.rule === 'simple'
    ? 'simple: the value is compared with the limit'
    : `guarded: a guard band for ${item.decision.confidence} confidence inside the limit`;
}

export function roundingText(item: Characteristic): string {
  return item.rounding.rule === 'absolute'
    ? 'absolute: compared as reported (ASTM E29)'
    : `rounded to ${item.rounding.place ?? 'the last place of the limit'}, ties to even, then compared (ASTM E29)`;
}

/** Who measured it; and for a typed value who entered and who checked it. */
export function peopleText({ analyst, enteredBy, checkedBy }: Facts['results'][number]): string {
  const entered = enteredBy === '' ? [] : [`entered by ${enteredBy}`, `checked by ${checkedBy || 'nobody'}`];
  return [analyst, ...entered].join(', ');
}

function drawEvidence(pdf: RecordPage, facts: Facts): void {
  pdf.heading(2, 'Where each value comes from');
  pdf.table({
    caption: 'Result rows as recorded, with their source',
    columns: [
      { head: 'Row', width: 1 },
      { head: 'Specimen', width: 1.6 },
      { head: 'Characteristic', width: 2.2 },
      { head: 'Reported', width: 1.8 },
      { head: 'Measured', width: 2 },
      { head: 'Instrument', width: 1.7 },
      { head: 'Method', width: 1.5 },
      { head: 'People', width: 2.2 },
      { head: 'Source', width: 2.5 },
    ],
    rows: facts.results.map((row, index) => ({
      cells: [
        String(index + 1),
        row.piece ? `${row.specimen}/${row.piece}` : row.specimen,
        `${row.characteristic} (${row.replicate})`,
        `${row.reportedValue} ${row.reportedUcum}${row.status === 'corrected' ? ' corrected' : ''}`,
        timeText(row.measuredAt),
        row.instrument,
        `${row.method} rev ${row.methodRevision}`,
        peopleText(row),
        `${row.file}:${row.line}, ${short(row.evidence)}`,
      ],
      anchor: resultAnchor(index + 1),
    })),
  });
  pdf.table({
    caption: 'Instruments and their latest calibrations',
    columns: ['Instrument', 'Title', 'Certificate', 'Calibrated', 'Due', 'As found', 'As left'].map((head) => ({
      head,
    })),
    rows: [...facts.instruments.values()].map(({ body }) => {
      const latest = body.calibrations.at(-1);
      return [
        body.instrument,
        body.title,
        latest?.certificate ?? 'none',
        timeText(latest?.at ?? ''),
        timeText(latest?.due ?? ''),
        latest?.asFound ?? '',
        latest?.asLeft ?? '',
      ];
    }),
  });
}

/** A result row with its number from 1. */
export interface NumberedRow {
  readonly number: number;
  readonly row: Facts['results'][number];
}

const numbered = (facts: Facts): NumberedRow[] => facts.results.map((row, index) => ({ row, number: index + 1 }));

/** Each result that a later one replaced, with the one that replaced it. */
export function correctionsOf(facts: Facts): (NumberedRow & { readonly next: NumberedRow['row'] })[] {
  const key = ({ specimen, piece, characteristic, replicate }: NumberedRow['row']) =>
    [specimen, piece, characteristic, replicate].join('\n');
  return numbered(facts)
    .filter(({ row }) => row.status === 'corrected')
    .map(({ row, number }) => ({
      row,
      number,
      next: facts.results.slice(number).find((later) => key(later) === key(row))!,
    }));
}

export const lateResultsOf = (facts: Facts): NumberedRow[] => numbered(facts).filter(({ row }) => enteredLate(row));

function drawCorrections(pdf: RecordPage, facts: Facts): void {
  pdf.heading(2, 'Corrections and late entries', { anchor: 'corrections' });
  pdf.table({
    caption: 'Corrected results: the old value still shows',
    columns: ['Row', 'Specimen', 'Characteristic', 'Old value', 'New value', 'Reason', 'Recorded'].map((head) => ({
      head,
    })),
    rows: correctionsOf(facts).map(({ row, next, number }) => [
      rowLink(number),
      row.specimen,
      row.characteristic,
      `${row.reportedValue} ${row.reportedUcum}`,
      `${next.reportedValue} ${next.reportedUcum}`,
      next.reason,
      timeText(next.recordedAt),
    ]),
    empty: 'None.',
  });
  pdf.table({
    caption: 'Results entered more than 24 hours after the measurement',
    columns: ['Row', 'Specimen', 'Characteristic', 'Measured', 'Recorded'].map((head) => ({ head })),
    rows: lateResultsOf(facts).map(({ row, number }) => [
      rowLink(number),
      row.specimen,
      row.characteristic,
      timeText(row.measuredAt),
      timeText(row.recordedAt),
    ]),
    empty: 'None.',
  });
}
