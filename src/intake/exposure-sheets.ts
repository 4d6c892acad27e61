import { createHash } from 'node:crypto';
import type { Problem } from '../base/errors.js';
import { countingRate, decimalRate, hoursOf, RATE_UNIT } from '../degradation/exposure-rates.js';
import { kindNamed } from '../kinds/catalogue.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import { EXPOSURE_COLUMNS, exposureOfRow } from '../kinds/degradation/exposure-columns.js';
import { exposure as exposureKind } from '../kinds/degradation/exposure-document.js';
import { SIMULATION } from '../kinds/degradation/simulation.js';
import type { Lot } from '../kinds/lot.js';
import type { Method } from '../kinds/method.js';
import type { Characteristic, Specification } from '../kinds/specification.js';
import { readSheet } from './csv-sheet.js';
import { documentText } from './document-text.js';
import type { FoundFile } from './folder.js';
import { bodyIf, type Known } from './known.js';
import type { SheetRow } from './results-file.js';
import { type ReadDocument, readBodyOf } from './yaml-document.js';

/** A sheet of exposures as it lies in the folder of a lot. */
export interface ExposureSheet {
  /** From the lot folder on. */
  readonly file: string;
  readonly path: string;
  readonly sha256: string;
  readonly rows: readonly ExposureRow[];
}

interface ExposureRow {
  readonly line: number;
  readonly document: ReadDocument;
  readonly body: Exposure;
}

/**
 * Reads a sheet of exposures: each row is the document of one exposure, of which the sheet is the evidence.
 * @param name of the sheet, from the lot folder on.
 */
export function readExposureSheet(
  { name: file, path }: FoundFile,
  name: string,
  bytes: Uint8Array,
  lot: Lot,
): { sheet: ExposureSheet; problems: Problem[] } {
  const rows: ExposureRow[] = [];
  const implants = new Set(lot.implants.map(({ serial }) => serial));
  const problems = readSheet(file, bytes, EXPOSURE_COLUMNS, ({ line, cells }) => {
    const written = {
      ...exposureOfRow(cells),
      specimenIs: implants.has(cells.specimen ?? '') ? 'implant' : 'coupon',
      evidence: { file: name, line: String(line) },
    };
    const kind = kindNamed(exposureKind.kind)!;
    const { read, problems: wrong } = readBodyOf(file, kind, written, () => line);
    if (!read) return wrong;
    const bytes = Buffer.from(documentText(written));
    const document = { file, kind, ...read, bytes, lineOf: () => line };
    const body = bodyIf('exposure', document)!;
    rows.push({ line, body, document });
    return [...wrong, ...numberProblems(file, line, body)];
  });
  return { sheet: { file: name, path, sha256: createHash('sha256').update(bytes).digest('hex'), rows }, problems };
}

/** The number of an exposure is that of the replicate that its rate becomes. */
function numberProblems(file: string, line: number, { exposure: number }: Exposure): Problem[] {
  if (/^[1-9]\d{0,4}$/.test(number)) return [];
  const expected = 'a whole number from 1 to 99999, counted over the exposures of the piece';
  return [
    { code: 'field', file, line, field: 'exposure', found: JSON.stringify(number), expected, remedy: 'number it' },
  ];
}

/**
 * The results that a sheet of exposures gives: one for each that has ended and each characteristic of its method and
 * zone class whose values come from exposures. A current alone gives none, and where the method states how long the test
 * lasts, exposures of other durations tell of the loss against time alone.
 */
export async function ratesInSheet(
  { rows }: ExposureSheet,
  { characteristics }: Specification,
  known: Known,
): Promise<SheetRow[]> {
  const found: SheetRow[] = [];
  for (const { line, body } of rows) {
    const { method, revision } = body.protocol;
    const lasts = (await known.body('method', method, revision))?.duration;
    const items = characteristics.filter((item) => isOf(item, body));
    if (items.length > 0 && isOfDuration(body, lasts))
      found.push(...items.flatMap((item) => resultOf(line, body, item)));
  }
  return found;
}

const isOf = (item: Characteristic, { protocol, zoneClass, specimenIs }: Exposure): boolean =>
  item.source === 'exposure' &&
  item.measuredOn === specimenIs &&
  item.method.method === protocol.method &&
  (item.zoneClass === undefined || item.zoneClass === zoneClass);

/** A part of the duration by which an exposure may last longer where the method does not say how much. */
const LONGER = 0.02;

function isOfDuration(exposure: Exposure, duration: Method['duration']): boolean {
  const hours = hoursOf(exposure);
  if (duration === undefined || hours === undefined) return true;
  const asked = Number(duration.hours);
  return Math.abs(hours - asked) <= Number(duration.within ?? LONGER * asked);
}

function resultOf(line: number, exposure: Exposure, { characteristic }: Characteristic): SheetRow[] {
  const rate = countingRate(exposure, SIMULATION);
  if (rate === undefined) return [];
  const { mmPerYear, standardUncertaintyMmPerYear } = rate;
  const { specimen, piece = '', exposure: number, from, to, protocol, enteredBy = '', checkedBy = '' } = exposure;
  return [
    {
      ...{ line, specimen, piece, characteristic, replicate: Number(number) },
      ...{ value: decimalRate(mmPerYear), ucum: RATE_UNIT },
      standardUncertainty: uncertaintyText(standardUncertaintyMmPerYear),
      ...{ startedAt: from, measuredAt: to!, instrument: exposure.instruments[0]!, analyst: exposure.analyst },
      ...{ method: protocol.method, methodRevision: protocol.revision, enteredBy, checkedBy },
      reason: exposure.reason ?? '',
    },
  ];
}

/** None where nothing is known of it, or it has no bound. */
const uncertaintyText = (mmPerYear: number | undefined): string =>
  mmPerYear && Number.isFinite(mmPerYear) ? decimalRate(mmPerYear) : '';

/** What a sheet says that only the store can tell to be wrong. */
export async function exposureProblems(documents: readonly ReadDocument[], known: Known): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const document of documents) {
    const exposure = bodyIf('exposure', document);
    if (exposure === undefined) continue;
    const { batch, from } = exposure;
    const { file, lineOf } = document;
    const made = await known.body('consumable', batch);
    if (made === undefined || Date.parse(made.inUseFrom) <= Date.parse(from)) continue;
    problems.push({
      code: 'contradiction',
      file,
      line: lineOf('batch'),
      field: 'batch',
      found: `${batch}, in use from ${made.inUseFrom}`,
      expected: `a batch of the medium that was there at ${from}`,
      remedy: 'correct the batch or one of the two times',
    });
  }
  return problems;
}
