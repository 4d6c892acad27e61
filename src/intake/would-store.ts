import { AppError } from '../base/errors.js';
import { numberOf } from '../kinds/common-fields.js';
import type { Reads } from '../store/repositories.js';
import type { IntakeReport, WouldStore } from './intake-report.js';
import type { Known } from './known.js';
import { documentsOf, type ReadFolder } from './read-folder.js';
import type { PlannedLot } from './record-parts.js';

/** What storing a folder would record, by the store as it is now. */
export async function wouldStore(
  read: Reads,
  known: Known,
  folder: ReadFolder,
  planned: readonly PlannedLot[],
): Promise<WouldStore> {
  const documents: WouldStore['documents'][number][] = [];
  for (const document of documentsOf(folder)) {
    if (await known.isRecorded(document)) continue;
    const { kind, body } = document;
    const key = kind.key(body);
    const last = (await known.revisions(kind.kind, key)).at(-1)?.revision ?? 0;
    documents.push({ kind: kind.kind, key, revision: numberOf(kind, body) ?? last + 1 });
  }
  const rows = planned.flatMap(({ sheets }) => sheets.flatMap((sheet) => sheet.added));
  const logs: string[] = [];
  for (const { report } of planned.flatMap(({ scans }) => scans)) {
    const { build, sha256, planSha256 } = report.files[0]!;
    if (!(await read.logs.isScanned(build, sha256, planSha256))) logs.push(build);
  }
  const corrections = rows.filter((row) => row.replacesId !== undefined).length;
  return { documents, results: { recorded: rows.length, corrections }, logs };
}

/**
 * Refuses to store something else than was shown, inside the change that would.
 * @throws AppError CONFLICT with `moved`.
 */
export function refuseOther(expected: WouldStore, { documents, results, logs }: IntakeReport): void {
  const now: WouldStore = {
    documents: documents.map(({ kind, key, revision }) => ({ kind, key, revision: revision! })),
    results,
    logs: logs.map(({ build }) => build),
  };
  if (saidOf(now) === saidOf(expected)) return;
  throw new AppError(
    'CONFLICT',
    'others stored something meanwhile, so that this would not be stored as it was shown; nothing was stored: look at it again',
    { moved: true },
  );
}

const saidOf = ({ documents, results, logs }: WouldStore): string =>
  JSON.stringify([
    documents.map(({ kind, key, revision }) => [kind, key, revision]),
    results.recorded,
    results.corrections,
    logs,
  ]);
