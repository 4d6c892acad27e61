import { INTAKE_LINES } from '../report/phrases/commands/intake.js';
import { takenLogText } from '../report/phrases/rejected-rows.js';
import type { IntakeReport } from './intake-report.js';
import { isHidden } from './odd-files.js';

/** What command and page say of an intake. */
export interface IntakeWords {
  /** Null where documents, results and logs say it. */
  readonly says: string | null;
  /** One for each document of the report. */
  readonly documents: readonly string[];
  readonly results: readonly string[];
  readonly logs: readonly string[];
  readonly notKept: readonly string[];
}

export function intakeWords({ stored, documents, results, logs, unusedFiles }: IntakeReport): IntakeWords {
  const isNothing = documents.length + results.recorded + logs.length === 0;
  return {
    says: !stored ? INTAKE_LINES.checked : isNothing ? INTAKE_LINES.nothingNew : null,
    documents: documents.map(({ kind, key, revision }) => INTAKE_LINES.document(kind, key, revision)),
    results: results.recorded > 0 ? [INTAKE_LINES.results(results.recorded, results.corrections)] : [],
    logs: logs.map(takenLogText),
    notKept: unusedFiles.map((file) => (isHidden(file) ? INTAKE_LINES.hidden(file) : INTAKE_LINES.notKept(file))),
  };
}
