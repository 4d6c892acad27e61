import path from 'node:path';
import { AppError } from '../base/errors.js';
import { commonFields, numberOf } from '../kinds/common-fields.js';
import type { LinkDraft } from '../kinds/kind.js';
import { PERSONAL_DATA } from '../kinds/lot.js';
import type { NewLink, NewRevision } from '../store/entries.js';
import { currentLot } from '../store/lots-now.js';
import type { Change } from '../store/repositories.js';
import { holdUnplanned } from './case-holds.js';
import { type Copies, toBeKept } from './copies.js';
import { holdTouched } from './impact-holds.js';
import { type IntakeReport, logLine } from './intake-report.js';
import { bodyIf } from './known.js';
import type { ScannedBuild } from './log-scans.js';
import { declaredNow, declaredOfMove } from './moved-parts.js';
import { holdMoved } from './place-holds.js';
import type { PlaceLogs } from './place-logs.js';
import type { LotFolder, ReferencedFile } from './read-folder.js';
import { holdRecalled } from './recall-holds.js';
import { isSame, revisionBefore } from './repeats.js';
import { resultEntries, sheetEntry } from './result-entries.js';
import type { PlannedSheet } from './result-rules.js';
import type { ReadDocument } from './yaml-document.js';

/** What is recorded of a folder, inside the change that stores it. */

/** A lot with what was found of it before anything is stored. */
export interface PlannedLot {
  readonly lot: LotFolder;
  readonly sheets: readonly PlannedSheet[];
  readonly scans: readonly ScannedBuild[];
}

/** The copies that become evidence, and the report that tells what was recorded. */
export interface Recording {
  readonly report: IntakeReport;
  readonly copies: Copies;
  readonly placeLogs: PlaceLogs;
}

/** Name of the link from a revision to the file that it was read from. */
const AS_RECEIVED = 'document as received';

export async function recordDocument(
  change: Change,
  document: ReadDocument,
  files: readonly ReferencedFile[],
  { copies, report, placeLogs }: Recording,
): Promise<void> {
  const { kind, written, body } = document;
  const evidence: NewLink[] = [];
  const key = kind.key(body);
  const number = numberOf(kind, body);
  const received = copies.documents.get(document);
  // Others may have recorded it meanwhile.
  const before = await revisionBefore(change, kind.kind, key, number);
  const isRecorded = isSame(before, body);
  if (!received && !isRecorded) {
    const what = `${document.file} was recorded when it was checked, and another document of it was stored since`;
    throw new AppError('CONFLICT', `${what}: take the folder in again`);
  }
  if (received && !isRecorded) {
    const { sha256, bytes } = toBeKept(copies, received);
    await change.evidence.add({ sha256, bytes, fileName: path.posix.basename(document.file) });
    evidence.push({ name: AS_RECEIVED, to: { evidence: sha256 } });
  }
  for (const file of files) {
    const { sha256, bytes } = toBeKept(copies, copies.files.get(file.path)!);
    // The name of a scan may tell who the patient is.
    const fileName = file.use === PERSONAL_DATA ? PERSONAL_DATA : path.posix.basename(file.name);
    await change.evidence.add({ sha256, bytes, fileName });
    evidence.push({ name: file.use, to: { evidence: sha256 } });
  }
  // What it declares was recorded with it, maybe in a shape of earlier days.
  if (isRecorded) {
    (report as { unchangedDocuments: number }).unchangedDocuments += 1;
    return;
  }
  const lot = bodyIf('lot', document);
  const declared = lot ? await declaredNow(change, lot) : kind.declares(body);
  for (const { links, ...item } of declared) {
    await recordIfChanged(change, { ...item, links: links.map(asNewLink) });
  }
  for (const log of placeLogs.get(document) ?? []) await recordIfChanged(change, log);
  const links = [...kind.links(body).map(asNewLink), ...evidence];
  const reason = before ? commonFields(body).reason : undefined;
  const name = kind.name(body);
  const revision = await change.entries.add({ kind: kind.kind, key, name, body: written, links, number, reason });
  report.documents.push({ kind: kind.kind, key, revision });
  if (kind.kind === 'unit-move') {
    for (const { links: own, ...item } of await declaredOfMove(change, key)) {
      await recordIfChanged(change, { ...item, links: own.map(asNewLink) });
    }
  }
  await holdUnplanned(change, { kind: kind.kind, key, revision });
  await holdMoved(change, { kind: kind.kind, key, revision });
  await holdTouched(change, { kind: kind.kind, key, revision });
  await holdRecalled(change, { kind: kind.kind, key, revision });
}

async function recordIfChanged(change: Change, entry: NewRevision): Promise<void> {
  const before = await revisionBefore(change, entry.kind, entry.key, undefined);
  if (isSame(before, entry.body)) return;
  await change.entries.add({ number: (before?.revision ?? 0) + 1, ...entry });
}

export async function recordLot(change: Change, { lot: folder, sheets, scans }: PlannedLot, recording: Recording) {
  const { lot } = folder.lot;
  const { copies, report } = recording;
  await recordDocument(change, folder.document, folder.files, recording);
  for (const { rows, ...sheet } of folder.exposures) {
    const file = { ...sheet, name: sheet.file, field: 'evidence.file', use: 'results' as const };
    for (const { document } of rows) await recordDocument(change, document, [file], recording);
  }
  for (const { entry } of folder.shapes ?? []) await recordIfChanged(change, entry);
  for (const sheet of sheets.filter(({ rows }) => rows.length > 0)) {
    const { sha256, bytes } = toBeKept(copies, copies.files.get(sheet.path)!);
    await change.evidence.add({ sha256, bytes, fileName: path.posix.basename(sheet.file) });
    await change.results.add(lot, sheet.file, sheet.added);
    await recordIfChanged(change, sheetEntry(lot, sheet));
    const counts = report.results as { recorded: number; corrections: number };
    counts.recorded += sheet.added.length;
    counts.corrections += sheet.added.filter((row) => row.replacesId !== undefined).length;
  }
  for (const entry of await resultEntries(change, await currentLot(change, lot), sheets))
    await recordIfChanged(change, entry);
  for (const { report: scan, made } of scans) {
    for (const archive of made) await change.logs.nameArchive(archive);
    const { build, sha256, planSha256 } = scan.files[0]!;
    if (await change.logs.isScanned(build, sha256, planSha256)) continue;
    await change.logs.add(lot, scan);
    report.logs.push(logLine(scan));
  }
}

const asNewLink = ({ name, kind, key, revision, massG, count }: LinkDraft): NewLink => ({
  name,
  to: { kind, key },
  revision,
  massG,
  count,
});
