import type { Statement } from '../../dossier/statement.js';
import { kindText } from './kinds.js';
import { signedAsText } from './release-steps.js';

/** The page on which a lot runs from its prescription to its release. */
export const LOT_TIMELINE = {
  title: 'From prescription to release',
  prescribed: (code: string) => `prescribed, case ${code}`,
  opened: 'lot opened',
  powder: (state: string) => `powder ${state} made`,
  build: (build: string) => `build ${build}, closed to opened`,
  gas: (changed: string, build: string) => `${changed}, ${build}`,
  step: (step: string) => `${step}`,
  measured: (characteristic: string) => `measured: ${characteristic}`,
  frozen: 'last fact of the lot file',
  signed: (statement: Pick<Statement, 'meaning' | 'step'>, kind: string, count: number) =>
    `${signedAsText(statement)}: ${kindText(kind)}${count === 1 ? '' : `, ${count} times`}`,
  /** @param days between happening and recording, 0 up to one. */
  at: (at: string, days: number, late: boolean) =>
    days === 0 ? at : `${at}, ${late ? '' : 'noted '}${days.toFixed(1)} d ${late ? 'late' : 'later'}`,
  axis: 'Days, each beginning at 00:00 UTC',
  key: 'Filled: happened · open: recorded · heavy line: a result or a fact of the build that was entered late, more than 24 hours after it happened. All times are UTC.',
  alt: (rows: number, late: number) => `${rows} events in the order in which they happened; ${late} were entered late.`,
  caption:
    'A prescription and the opening of a lot are noted when the papers come; the gap is told and counts as no late entry. Where only a later revision of a document is in the lot file, its first recording is not drawn; the audit trail has it.',
  none: 'Nothing has happened yet.',
};
