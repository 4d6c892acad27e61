import path from 'node:path';
import { commonFields, numberOf } from '../kinds/common-fields.js';
import type { LinkDraft } from '../kinds/kind.js';
import { PERSONAL_DATA } from '../kinds/lot.js';
import type { NewLink } from '../store/entries.js';
import type { Change } from '../store/repositories.js';
import type { NewResult } from '../store/results.js';
import { type Copies, toBeKept } from './copies.js';
import { type IntakeReport, logLine } from './intake-report.js';
import type { ScannedBuild } from './log-scans.js';
import type { LotFolder, ReferencedFile } from './read-folder.js';
import { isSame, revisionBefore } from './repeats.js';
import { type DerivedEntry, resultEntries, sheetEntry } from './result-entries.js';
import type { ReadDocument } from './yaml-document.js';

/** What is recorded of a folder, inside the change that stores it. */

/** A lot with what was found of it before anything is stored. */
export interface PlannedLot {
  readonly lot: LotFolder;
  readonly sheets: readonly { file: string; rows: NewResult[] }[];
  readonly scans: readonly ScannedBuild[];
}

/** The copies that become evidence, and the report that tells what was recorded. */
export interface Recording {
  readonly report: IntakeReport;
  readonly copies: Copies;
}

/** Name of the link from a revision to the file that it was read from. */
const AS_RECEIVED = 'document as received';

export async function recordDocument(
  change: Change,
  document: ReadDocument,
  files: readonly ReferencedFile[],
  { copies, report }: Recording,
): Promise<void> {
  const { kind, body } = document;
  const evidence: NewLink[] = [];
  const key = kind.key(body);
  const number = numberOf(kind, body);
  const received = copies.documents.get(document);
  // Others may have recorded it meanwhile.
  if (received && !isSame(await revisionBefore(change, kind.kind, key, number), body)) {
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
  for (const item of kind.declares(body)) {
    await recordIfChanged(change, item.kind, item.key, item.name, item.body, item.links.map(asNewLink));
  }
  const links = [...kind.links(body).map(asNewLink), ...evidence];
  const { reason } = commonFields(body);
  const revision = await recordIfChanged(change, kind.kind, key, kind.name(body), body, links, number, reason);
  if (revision === undefined) (report as { unchangedDocuments: number }).unchangedDocuments += 1;
  else report.documents.push({ kind: kind.kind, key, revision });
}

async function recordIfChanged(
  change: Change,
  kind: string,
  key: string,
  name: string,
  body: unknown,
  links: readonly NewLink[],
  number?: number,
  reason?: string,
): Promise<number | undefined> {
  const before = await revisionBefore(change, kind, key, number);
  if (isSame(before, body)) return undefined;
  return change.entries.add({ kind, key, name, body, links, number, reason: before ? reason : undefined });
}

const recordDerived = (change: Change, { kind, key, name, body, links }: DerivedEntry): Promise<number | undefined> =>
  recordIfChanged(change, kind, key, name, body, links);

export async function recordLot(change: Change, { lot: folder, sheets, scans }: PlannedLot, recording: Recording) {
  const { lot } = folder.lot;
  const { copies, report } = recording;
  await recordDocument(change, folder.document, folder.files, recording);
  for (const sheet of folder.sheets) {
    const { sha256, bytes } = toBeKept(copies, copies.files.get(sheet.path)!);
    await change.evidence.add({ sha256, bytes, fileName: path.posix.basename(sheet.file) });
    const rows = sheets.find((item) => item.file === sheet.file)?.rows ?? [];
    await change.results.add(lot, sheet.file, rows);
    await recordDerived(change, sheetEntry(lot, sheet));
    const counts = report.results as { recorded: number; corrections: number };
    counts.recorded += rows.length;
    counts.corrections += rows.filter((row) => row.replacesId !== undefined).length;
  }
  for (const entry of await resultEntries(change, folder.lot, folder.sheets)) await recordDerived(change, entry);
  for (const { report: scan } of scans) {
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
