import { BadInputError, type Problem } from '../base/errors.js';
import { timeText } from '../dossier/time-text.js';
import { capital } from '../report/phrases/capital.js';
import { INTAKE_LINES } from '../report/phrases/commands/intake.js';
import { INTAKE_PAGE } from '../report/phrases/intake-page.js';
import { takenLogText } from '../report/phrases/rejected-rows.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import type { IntakeReport } from './intake-report.js';
import { intakeWords } from './intake-words.js';
import type { StagedFolder } from './staged-folder.js';

/** More than anybody mends before sending again. */
const MOST_SHOWN = 200;

/** What the page of an upload shows that is not stored yet. */
export function stagedView(folder: StagedFolder) {
  const { checked, version, name } = folder;
  const report = checked?.report;
  const lines = report === undefined ? [] : storedLines(report);
  const problems = checked?.problems ?? [];
  return {
    folder: name,
    version,
    sent: INTAKE_PAGE.sent(folder.count, folder.bytes, timeText(folder.begunAt)),
    unfinished: folder.unfinished().map(({ file, received, of }) => INTAKE_PAGE.unfinished(file, received, of)),
    isChecked: checked !== undefined,
    hasMoved: checked?.hasMoved === true,
    things: lines.length,
    lines,
    storeButton: INTAKE_PAGE.storeButton(lines.length),
    notKept: report === undefined ? [] : intakeWords(report).notKept,
    errors: problems.length === 0 ? [] : wrongText(problems, []),
    ...shown(problems),
  };
}

/** One line for each thing that would be stored. */
function storedLines({ wouldStore, logs }: IntakeReport): string[] {
  if (wouldStore === undefined) return [];
  const { documents, results } = wouldStore;
  return [
    ...documents.map(({ kind, key, revision }) => INTAKE_LINES.document(kind, key, revision)),
    ...(results.recorded > 0 ? [INTAKE_LINES.results(results.recorded, results.corrections)] : []),
    ...logs.filter(({ build }) => wouldStore.logs.includes(build)).map(takenLogText),
  ];
}

/** Of files the page shows each problem in a table: above it is told how many there are, and what was stored before. */
export function errorsOf(error: unknown): FormError[] {
  if (!(error instanceof BadInputError)) return formErrors(error, {});
  return wrongText(error.problems, error.stored ?? []);
}

const wrongText = (problems: readonly Problem[], stored: readonly string[]): FormError[] => [
  { field: 'problems', says: capital(INTAKE_PAGE.wrong(problems.length, stored)) },
];

export const problemsOf = (error: unknown) => shown(error instanceof BadInputError ? error.problems : []);

const shown = (problems: readonly Problem[]) => ({
  problems: problems.slice(0, MOST_SHOWN).map(({ file, line, column, field, ...problem }) => ({
    ...problem,
    where:
      [[file, line, column].filter((part) => part !== undefined).join(':'), field].filter(Boolean).join(', ') ||
      INTAKE_PAGE.whole,
  })),
  more: Math.max(0, problems.length - MOST_SHOWN),
});
