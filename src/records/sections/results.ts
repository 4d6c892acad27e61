import type { Facts } from '../../dossier/facts.js';
import { specimenText } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Calibration } from '../../kinds/instrument.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import {
  characteristicAnchor,
  evidenceAnchor,
  RESULT_ROWS,
  resultAnchor,
  short,
  verdictAnchor,
} from '../../report/anchors.js';
import { verdictText } from '../../report/phrases/codes.js';
import { lateFactText } from '../../report/phrases/late-facts.js';
import { limitsText } from '../../report/phrases/limits.js';
import { planText } from '../../report/phrases/plans.js';
import { RESULTS } from '../../report/phrases/record-results.js';
import { measuredOnWord, testDueText, toleranceText } from '../../report/phrases/trade-codes.js';
import { decisionRuleText, roundingText, valueText, verdictNoteText } from '../../report/phrases/values.js';
import { correctionsOf, lateResultsOf, type NumberedRow, peopleText } from '../../report/result-rows.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';

/** Plan against result: each value with its limit, its verdict, and the way to its evidence. */
export function drawResults(pdf: RecordPage, view: RecordView): void {
  const judged = new Set<number>();
  for (const item of view.facts.specification.body.characteristics) drawCharacteristic(pdf, view, item, judged);
  drawEvidence(pdf, view, judged);
  pdf.heading(2, RESULTS.shape);
  pdf.paragraph(RESULTS.shapeNotRecorded);
}

/** @param judged rows whose place of judging has its anchor already: a coupon's value is judged for several implants. */
function drawCharacteristic(pdf: RecordPage, view: RecordView, item: Characteristic, judged: Set<number>): void {
  const { assessment } = view;
  const shown = new Set(shownUnits(view).map(({ serial }) => serial));
  const verdicts = assessment.characteristics.filter(
    (verdict) => verdict.characteristic === item.characteristic && shown.has(verdict.unit),
  );
  const rows = verdicts.flatMap((verdict) => verdict.values.map((value) => ({ unit: verdict.unit, value })));
  pdf.heading(2, item.title, { anchor: characteristicAnchor(item.characteristic), keepPt: 150 });
  pdf.facts(
    [
      [
        RESULTS.limits,
        withUnit(`${limitsText(item)}`, item) + (item.target === undefined ? '' : RESULTS.target(item.target)),
      ],
      [
        RESULTS.method,
        RESULTS.methodOn(RESULTS.methodOf(item.method.method, item.method.revision), measuredOnText(item)),
      ],
      [RESULTS.decisionRule, RESULTS.ruleAndRounding(decisionRuleText(item), roundingText(item))],
      [RESULTS.due, testDueText(item.due)],
      [RESULTS.plan, plansText(item, verdicts)],
      ...notesOf(verdicts),
    ],
    { small: true },
  );
  pdf.table({
    caption: RESULTS.values(item.title),
    columns: [
      { head: RESULTS.implant, width: 2 },
      { head: RESULTS.specimen, width: 2 },
      { head: RESULTS.replicate, width: 1.4, align: 'right' },
      { head: RESULTS.value, unit: tradeUnit(item.ucum), width: 1.9, align: 'decimal' },
      { head: RESULTS.verdict, width: 2.2 },
      { head: RESULTS.why, width: 3.9 },
      { head: RESULTS.row, width: 0.9 },
    ],
    rows: rows.map(({ unit, value }) => {
      const isFirst = value.row !== null && !judged.has(value.row);
      if (isFirst) judged.add(value.row!);
      return {
        cells: [
          unit,
          specimenText(value),
          String(value.replicate),
          value.row === null ? value.value || RESULTS.missing : [{ text: value.value, to: resultAnchor(value.row) }],
          verdictText(value.verdict),
          `${value.role === 'planned' ? '' : `${value.role}: `}${valueText(item, value)}`,
          rowLink(value.row),
        ],
        attention: value.verdict !== 'conforms',
        ...(isFirst ? { anchor: verdictAnchor(value.row!) } : {}),
      };
    }),
    empty: RESULTS.noSpecimen,
  });
}

type Verdicts = RecordView['assessment']['characteristics'];

/** What the plan says of the values together; of several implants each different saying once. */
function plansText(item: Characteristic, verdicts: Verdicts): string {
  const said = new Map<string, string[]>();
  for (const { unit, plan } of verdicts) {
    const says = planText(item, plan);
    said.set(says, [...(said.get(says) ?? []), unit]);
  }
  if (said.size === 0) return RESULTS.noImplant;
  return [...said].map(([says, units]) => (said.size === 1 ? says : `${units.join(', ')}: ${says}`)).join('; ');
}

function notesOf(verdicts: Verdicts): [string, string][] {
  const notes = [...new Set(verdicts.flatMap((verdict) => verdict.notes.map(verdictNoteText)))];
  return notes.length > 0 ? [[RESULTS.notes, notes.join('; ')]] : [];
}

const withUnit = (text: string, { ucum }: Characteristic): string => `${text} ${tradeUnit(ucum)}`;

function measuredOnText({ measuredOn, zoneClass, replicates }: Characteristic): string {
  return RESULTS.measuredOnOf(measuredOnWord(measuredOn), zoneClass ? RESULTS.zoneClass(zoneClass) : '', replicates);
}

const rowLink = (row: number | null): Text =>
  row === null ? RESULTS.none : [{ text: String(row), to: resultAnchor(row) }];

/** The calibration that was the latest one when a value was measured. */
function calibrationAt(facts: Facts, instrument: string, at: string): Calibration | undefined {
  const known = facts.instruments.get(instrument)?.body.calibrations ?? [];
  return [...known]
    .filter((calibration) => Date.parse(calibration.at) <= Date.parse(at))
    .sort((a, b) => Date.parse(b.at) - Date.parse(a.at))[0];
}

function instrumentText(
  facts: Facts,
  { instrument, measuredAt, method, methodRevision }: Facts['results'][number],
): string {
  const by = calibrationAt(facts, instrument, measuredAt) ? instrument : RESULTS.uncalibrated(instrument);
  return RESULTS.byMethod(by, RESULTS.methodRevision(method, methodRevision));
}

function drawEvidence(pdf: RecordPage, view: RecordView, judged: ReadonlySet<number>): void {
  const { facts } = view;
  const isTold = tellsOf(view);
  pdf.heading(2, RESULTS.sources, { anchor: RESULT_ROWS });
  pdf.table({
    caption: RESULTS.rows,
    columns: [
      { head: RESULTS.row, width: 1.1 },
      { head: RESULTS.specimenCharacteristic, width: 2.6 },
      { head: RESULTS.reported, width: 2.3 },
      { head: RESULTS.uncertainty, width: 2.2 },
      { head: RESULTS.measured, width: 2.3 },
      { head: RESULTS.instrumentMethod, width: 2.4 },
      { head: RESULTS.people, width: 2.4 },
      { head: RESULTS.source, width: 4 },
    ],
    rows: facts.results.flatMap((row, index) => {
      if (!isTold(row.specimen)) return [];
      const number = index + 1;
      const back: Text = judged.has(number) ? [{ text: String(number), to: verdictAnchor(number) }] : String(number);
      return {
        cells: [
          back,
          `${specimenText(row)}, ${row.characteristic} (${row.replicate})`,
          reportedText(row),
          uncertaintyText(row),
          timeText(row.measuredAt),
          instrumentText(facts, row),
          peopleText(facts, row),
          sourceText(facts, row),
        ],
        anchor: resultAnchor(number),
      };
    }),
    empty: RESULTS.noValue,
  });
  drawInstruments(pdf, facts);
}

function reportedText({ reportedValue, reportedUcum, status }: Facts['results'][number]): string {
  const corrected = status === 'corrected' ? RESULTS.corrected : '';
  return RESULTS.reportedOf(reportedValue, tradeUnit(reportedUcum), corrected);
}

/** The standard uncertainty, where one was stated. */
const uncertaintyText = ({ standardUncertainty, ucum }: Facts['results'][number]): string =>
  standardUncertainty === '' ? RESULTS.noneStated : `${standardUncertainty} ${tradeUnit(ucum)}`;

/** File and line, and the hash that leads to the file in the list of evidence. */
function sourceText(facts: Facts, { file, line, evidence }: Facts['results'][number]): Text {
  const listed = facts.evidence.some((item) => item.sha256 === evidence);
  const hash = { text: short(evidence), style: 'mono' as const };
  return [`${file}:${line}, `, listed ? { ...hash, to: evidenceAnchor(evidence) } : hash];
}

/** The calibrations that held when a value was measured; all others stand in the lot file. */
function drawInstruments(pdf: RecordPage, facts: Facts): void {
  const used = new Set(facts.results.map(({ instrument, measuredAt }) => calibrationAt(facts, instrument, measuredAt)));
  pdf.table({
    caption: RESULTS.instruments,
    columns: [
      { head: RESULTS.instrument, width: 3.4 },
      { head: RESULTS.certificate, width: 2 },
      { head: RESULTS.calibrated, width: 2.1 },
      { head: RESULTS.due, width: 2.1 },
      { head: RESULTS.asFound, width: 1.6 },
      { head: RESULTS.asLeft, width: 1.6 },
      { head: RESULTS.traceableTo, width: 5 },
    ],
    rows: [...facts.instruments.values()].flatMap(({ body }) =>
      body.calibrations.flatMap((calibration) =>
        used.has(calibration)
          ? [
              [
                `${body.instrument}: ${body.title}`,
                calibration.certificate,
                timeText(calibration.at),
                timeText(calibration.due),
                toleranceText(calibration.asFound),
                toleranceText(calibration.asLeft),
                calibration.traceableTo,
              ],
            ]
          : [],
      ),
    ),
    empty: RESULTS.noCalibrations,
  });
}

export function drawCorrections(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const isTold = ({ row }: NumberedRow) => tellsOf(view)(row.specimen);
  pdf.heading(2, RESULTS.corrections, { anchor: 'corrections' });
  pdf.table({
    caption: RESULTS.correctedResults,
    columns: [
      RESULTS.row,
      RESULTS.specimen,
      RESULTS.characteristic,
      RESULTS.oldValue,
      RESULTS.newValue,
      RESULTS.reason,
      RESULTS.recorded,
    ].map((head) => ({
      head,
    })),
    rows: correctionsOf(facts)
      .filter(isTold)
      .map(({ row, next, number }) => [
        rowLink(number),
        specimenText(row),
        row.characteristic,
        `${row.reportedValue} ${tradeUnit(row.reportedUcum)}`,
        `${next.reportedValue} ${tradeUnit(next.reportedUcum)}`,
        next.reason,
        timeText(next.recordedAt),
      ]),
    empty: RESULTS.noneSuch,
  });
  pdf.table({
    caption: RESULTS.lateResults,
    columns: [RESULTS.row, RESULTS.specimen, RESULTS.characteristic, RESULTS.measured, RESULTS.recorded].map(
      (head) => ({ head }),
    ),
    rows: lateResultsOf(facts)
      .filter(isTold)
      .map(({ row, number }) => [
        rowLink(number),
        specimenText(row),
        row.characteristic,
        timeText(row.measuredAt),
        timeText(row.recordedAt),
      ]),
    empty: RESULTS.noneSuch,
  });
  pdf.table({
    caption: RESULTS.lateFacts,
    columns: [RESULTS.lateFact, RESULTS.happened, RESULTS.recorded, RESULTS.enteredBy].map((head) => ({ head })),
    rows: facts.lateFacts.map((fact) => [
      lateFactText(fact),
      timeText(fact.happenedAt),
      timeText(fact.recordedAt),
      fact.by,
    ]),
    empty: RESULTS.noneSuch,
  });
}
