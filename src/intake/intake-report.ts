import type { BuildReport } from '../process-logs/build-report.js';
import type { Rejection, RejectionCounts } from '../process-logs/rejection.js';
import type { ReadFolder } from './read-folder.js';

/** What an intake did. */
export interface IntakeReport {
  /** False when only checked. */
  readonly stored: boolean;
  readonly documents: { readonly kind: string; readonly key: string; readonly revision: number | null }[];
  readonly unchangedDocuments: number;
  readonly results: { readonly recorded: number; readonly corrections: number };
  readonly logs: LogLine[];
  readonly lots: string[];
  readonly unusedFiles: readonly string[];
  /** When only checked: what would be stored. */
  readonly wouldStore?: WouldStore;
}

/** What storing a folder records, and it is stored just so or not at all. */
export interface WouldStore {
  readonly documents: readonly { readonly kind: string; readonly key: string; readonly revision: number }[];
  readonly results: { readonly recorded: number; readonly corrections: number };
  /** Builds whose logs are not stored yet. */
  readonly logs: readonly string[];
}

/** The log of one build as it was scanned. */
export interface LogLine {
  readonly build: string;
  readonly file: string;
  readonly rows: number;
  /** Lines that were not used, by reason, and the first of them. */
  readonly rejected: RejectionCounts;
  readonly firstRejected: Rejection | null;
  readonly findings: number;
}

export function logLine({ files, part, rows, rejections, rejectionsByCode: rejected }: BuildReport): LogLine {
  const file = files.map(({ fileName }) => fileName).join(', ');
  const [firstRejected = null] = rejections;
  return { build: part.build, file, rows, rejected, firstRejected, findings: part.findings.length };
}

export function emptyReport(stored: boolean, read: ReadFolder, passedOver: readonly string[] = []): IntakeReport {
  return {
    stored,
    documents: [],
    unchangedDocuments: 0,
    results: { recorded: 0, corrections: 0 },
    logs: [],
    lots: read.lots.map((item) => item.lot.lot),
    unusedFiles: [...read.unused, ...passedOver],
  };
}
