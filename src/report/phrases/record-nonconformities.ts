import { ABSENT } from './absent.js';
import { THINGS } from './things.js';

/** Words of the section "nonconformities" of the lot record. */
export const NONCONFORMITIES = {
  findings: 'Log findings that act on implants, with what was decided',
  finding: 'Finding',
  level: 'Level',
  covers: 'Covers',
  decision: 'Decision',
  alike: THINGS.alike,
  noPart: ABSENT.noPart,
  more: (others: number) => `${others} more stand in the attached parts of the logs.`,
  reports: 'Nonconformities',
  report: 'Nonconformity',
  says: 'What is not as it must be',
  becomes: 'What becomes of it',
  stands: 'How it stands',
  causeOf: (cause: string, riskFile: 'yes' | 'no') => `${cause}; risk file ${riskFile === 'yes' ? 'changes' : 'stays'}`,
  notEvaluated: 'not evaluated',
  becomesOf: (unit: string, as: string, clause: string | undefined) =>
    `${unit}: ${as}${clause === undefined ? '' : ` by ${clause}`}`,
  open: (unit: string) => `${unit}: open`,
  closedBy: (by: string, at: string) => `closed by ${by}, ${at}`,
  undecided: {
    none: 'OPEN, nothing decided',
    half: 'OPEN, decided by one of two',
    accepted: 'OPEN, decided and not closed',
    rejected: 'OPEN, disposition rejected',
  },
  alikeOf: (said: readonly string[]) =>
    `Of the same sort over all lots, when this record was issued: ${said.join('; ')}.`,
  ofSort: (sort: string, names: string, count: number, lots: string) =>
    `${sort}, ${count} (${names}) in ${lots === '' ? 'no lot by its parts' : lots}`,
  actions: 'Corrective actions, as they stood when this record was issued',
  action: 'Action, trigger',
  actionOf: (action: string, triggers: readonly string[]) => `${action}, against ${triggers.join(', ')}`,
  steps: 'Steps, each with its day',
  stepOf: (what: string, due: string, done: string | null) =>
    `${what}: ${done === null ? `due ${due}` : `done ${done}`}`,
  effect: 'Effect',
  effectOf: (
    due: string,
    effect: { readonly on: string; readonly result: string; readonly says: string } | null,
    closed: { readonly by: string; readonly at: string } | null,
  ) =>
    effect === null
      ? `OPEN, looked at on ${due}`
      : `${effect.result}, ${effect.on}: ${effect.says}; ${closed === null ? 'signed by nobody' : `signed by ${closed.by}, ${closed.at}`}`,
  reworks: 'Reworks: earlier values of what they disturb stand beside the new ones, and count no more',
  parts: 'Parts',
  step: 'Step',
  instruction: 'Instruction',
  byInstruction: (instruction: string, nonconformity: string, most: number) =>
    `${instruction}, for ${nonconformity}, ${most} ${most === 1 ? 'time' : 'times'} at most`,
  disturbs: 'Disturbs',
  nothing: ABSENT.none,
  invalidTests: 'Tests taken out as invalid: their values stay on record',
  value: 'Value',
  cause: 'Cause',
  seenBy: 'Seen by',
  decidedBy: 'Decided by',
  at: 'At',
  replacements: 'Specimens tested in place of others',
  characteristic: 'Characteristic',
  replaced: 'Replaced',
  by: 'By',
  reason: 'Reason',
};
