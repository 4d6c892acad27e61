import type { Facts } from '../../dossier/facts.js';
import { specimenText } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Calibration } from '../../kinds/instrument.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Span, Text } from '../../pdf/text-layout.js';
import { evidenceAnchor, resultAnchor, short, verdictAnchor } from '../../report/anchors.js';
import { RESULTS } from '../../report/phrases/record-results.js';
import { toleranceText } from '../../report/phrases/trade-codes.js';
import { peopleText } from '../../report/result-rows.js';
import { type RecordView, tellsOf } from '../record-view.js';

type ResultRow = Facts['results'][number];

/**
 * Where each value comes from: row by row, with sheet and line, instrument and people; then the sheets and calibrations.
 * @param judged rows that lead back to where they are judged.
 */
export function drawResultSources(pdf: RecordPage, facts: Facts, judged: ReadonlySet<number>, view: RecordView): void {
  const isTold = tellsOf(view);
  const titles = new Map(facts.specification.body.characteristics.map((item) => [item.characteristic, item]));
  const told = facts.results.flatMap((row, index) => (isTold(row.specimen) ? [{ row, number: index + 1 }] : []));
  const sheets = sheetsOf(told.map(({ row }) => row));
  pdf.table({
    caption: RESULTS.rows,
    columns: [
      { head: RESULTS.row, width: 0.8 },
      { head: RESULTS.specimenReplicate, width: 1.95 },
      { head: RESULTS.characteristic, width: 3 },
      { head: RESULTS.reportedAndUncertainty, width: 3.05 },
      { head: RESULTS.measuredFrom, width: 3.05 },
      { head: RESULTS.instrument, width: 1.3 },
      { head: RESULTS.people, width: 2 },
      { head: RESULTS.sheetLine, width: 0.9 },
    ],
    rows: told.map(({ row, number }) => {
      const item = titles.get(row.characteristic);
      const back: Text = judged.has(number) ? [{ text: String(number), to: verdictAnchor(number) }] : String(number);
      return {
        cells: [
          back,
          RESULTS.replicateOf(specimenText(row), row.replicate),
          item?.title ?? row.characteristic,
          reportedText(row),
          measuredText(row),
          instrumentText(facts, row, item?.method),
          peopleText(facts, row),
          RESULTS.sheetLineOf(sheets.findIndex((sheet) => isOfSheet(row, sheet)) + 1, row.line),
        ],
        anchor: resultAnchor(number),
      };
    }),
    empty: RESULTS.noValue,
  });
  if (sheets.length > 0) pdf.paragraph(sheetsText(facts, sheets), { small: true });
  drawInstruments(pdf, facts);
}

type Sheet = Pick<ResultRow, 'file' | 'evidence'>;

const isOfSheet = (row: Sheet, { file, evidence }: Sheet): boolean => row.file === file && row.evidence === evidence;

/** Each file in each of its states, in the order of the rows. */
function sheetsOf(rows: readonly ResultRow[]): Sheet[] {
  const found: Sheet[] = [];
  for (const row of rows) if (!found.some((sheet) => isOfSheet(row, sheet))) found.push(row);
  return found;
}

/** Which file each sheet is, and its hash, which leads to the file in the list of evidence. */
function sheetsText(facts: Facts, sheets: readonly Sheet[]): Text {
  return sheets.flatMap(({ file, evidence }, index): Span[] => {
    const listed = facts.evidence.some((item) => item.sha256 === evidence);
    const hash = { text: short(evidence), style: 'mono' as const };
    const name = `${index === 0 ? '' : '; '}${RESULTS.sheetOf(index + 1, file)}, `;
    return [name, listed ? { ...hash, to: evidenceAnchor(evidence) } : hash];
  });
}

/** As reported, with the standard uncertainty where one was stated. */
function reportedText({ reportedValue, reportedUcum, status, standardUncertainty, ucum }: ResultRow): string {
  const uncertainty =
    standardUncertainty === '' ? RESULTS.noUncertainty : RESULTS.uncertaintyOf(standardUncertainty, tradeUnit(ucum));
  const corrected = status === 'corrected' ? RESULTS.corrected : '';
  return RESULTS.reportedOf(reportedValue, tradeUnit(reportedUcum), uncertainty, corrected);
}

const measuredText = ({ startedAt, measuredAt }: ResultRow): string =>
  startedAt === '' ? timeText(measuredAt) : RESULTS.fromTo(timeText(startedAt), timeText(measuredAt));

/** The calibration that was the latest one when a value was measured. */
function calibrationAt(facts: Facts, { instrument, measuredAt }: ResultRow): Calibration | undefined {
  const known = facts.instruments.get(instrument)?.body.calibrations ?? [];
  return [...known]
    .filter((calibration) => Date.parse(calibration.at) <= Date.parse(measuredAt))
    .sort((a, b) => Date.parse(b.at) - Date.parse(a.at))[0];
}

/** The method of the characteristic stands once in what is asked of it; another one stands here. */
function instrumentText(
  facts: Facts,
  row: ResultRow,
  planned: { readonly method: string; readonly revision: number } | undefined,
): string {
  const by = calibrationAt(facts, row) ? row.instrument : RESULTS.uncalibrated(row.instrument);
  const isPlanned = row.method === planned?.method && Number(row.methodRevision) === planned.revision;
  return isPlanned ? by : RESULTS.byMethod(by, RESULTS.methodRevision(row.method, row.methodRevision));
}

/** The calibrations that held when a value was measured; all others stand in the lot file. */
function drawInstruments(pdf: RecordPage, facts: Facts): void {
  const used = new Set(facts.results.map((row) => calibrationAt(facts, row)));
  const rows = [...facts.instruments.values()].flatMap(({ body }) =>
    body.calibrations.filter((calibration) => used.has(calibration)).map((calibration) => ({ body, calibration })),
  );
  const traceable = [...new Set(rows.map(({ calibration }) => calibration.traceableTo))];
  const alike = traceable.length === 1;
  pdf.table({
    caption: RESULTS.instruments,
    columns: [
      { head: RESULTS.instrument, width: 4 },
      { head: RESULTS.certificate, width: 2 },
      { head: RESULTS.calibratedDue, width: 5.2 },
      { head: RESULTS.asFoundLeft, width: 3 },
      ...(alike ? [] : [{ head: RESULTS.traceableTo, width: 4.6 }]),
    ],
    rows: rows.map(({ body, calibration }) => [
      `${body.instrument}: ${body.title}`,
      calibration.certificate,
      RESULTS.fromTo(timeText(calibration.at), timeText(calibration.due)),
      RESULTS.foundLeft(toleranceText(calibration.asFound), toleranceText(calibration.asLeft)),
      ...(alike ? [] : [calibration.traceableTo]),
    ]),
    empty: RESULTS.noCalibrations,
  });
  if (alike) pdf.paragraph(RESULTS.allTraceableTo(traceable[0]!), { small: true });
}
