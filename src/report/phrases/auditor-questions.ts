import { PAPER } from './paper.js';

/** Questions that auditors ask, with the clause that asks, and what stands over the columns of the answer. */
export const AUDITOR_QUESTIONS = {
  lots: {
    title: 'All lots of a period, rejected, aborted and empty closures too',
    clause: 'ISO 13485:2016 7.5.1',
    columns: ['Lot', 'Family', 'Opened', 'Closures', 'Implants', 'Released', 'Rejected', 'Open'],
  },
  counted: {
    title: 'Each lot counted: what was made, and where all of it is',
    clause: 'ISO 13485:2016 7.5.9.2, 8.3.3',
    columns: ['Lot', 'Opened', 'What', 'Made', 'Where they are', 'Unaccounted'],
  },
  releases: {
    title: 'Who released or rejected what, and on what data',
    clause: 'ISO 13485:2016 8.2.6',
    columns: ['At', 'Lot', 'Meaning', 'Implants', 'Person', 'Role', 'Lot file (SHA-256)', 'Reason'],
  },
  values: {
    title: 'Each value with the raw file behind it',
    clause: 'ISO 13485:2016 8.2.6',
    columns: [
      'Lot',
      'Specimen',
      'Characteristic',
      'Value',
      'Measured',
      'Instrument',
      'Analyst',
      'File (SHA-256)',
      'Line',
    ],
  },
  failed: {
    title: 'Values that failed or were corrected, and what became of them',
    clause: 'ISO 13485:2016 8.2.6, 8.3',
    columns: [
      'Lot',
      'Specimen',
      'Characteristic',
      'Value',
      'Measured',
      'What became of it',
      'Nonconformities',
      'File (SHA-256)',
    ],
  },
  excursions: {
    title: 'Findings that were accepted by a decision',
    clause: 'ISO 13485:2016 8.3.2',
    columns: ['Sort', 'What was found', 'Lot', 'At', 'Finding', 'Person', 'Role', 'Reason'],
  },
  recipes: {
    title: 'Which recipe revision ran, and who had approved it by then',
    clause: 'ISO 13485:2016 4.2.4, 7.5.1',
    columns: ['Closure', 'Lot', 'Chamber closed', 'Recipe', 'Revision', 'Approved before'],
  },
  coupons: {
    title: 'For which implants each coupon speaks, and by which study',
    clause: 'ISO 13485:2016 7.5.6, 8.2.6',
    columns: ['Coupon', 'Lot', 'Speaks for', 'Study', 'Approved by', 'Why it may'],
  },
  shared: {
    title: 'Lots that shared powder, a consumable or a load',
    clause: 'ISO 13485:2016 7.5.9.2',
    columns: ['Kind', 'Shared', 'Lots', 'Which'],
  },
  unqualified: {
    title: 'What people did without a signed qualification',
    clause: 'ISO 13485:2016 6.2',
    columns: ['Day', 'Person', 'What they did', 'On', 'Lot', 'Implants'],
  },
  changed: {
    title: 'What was changed after release',
    clause: 'ISO 13485:2016 4.2.5',
    columns: ['Lot', 'First release', 'What', 'Recorded', 'By', 'Reason'],
  },
  destroyed: {
    title: 'What was rejected, scrapped or destroyed, and who saw it',
    clause: 'ISO 13485:2016 8.3',
    columns: ['What', 'Lot', 'Now', 'Since', 'Disposal', 'How', 'By', 'Witness'],
  },
  known: {
    title: 'When something was known, and who decided',
    clause: 'ISO 13485:2016 8.2.2, 8.3.2, 8.3.3',
    columns: ['Known', 'What', 'Code', 'Says', 'By', 'On record', 'Decided by', 'Closed or reported'],
  },
  recalls: {
    title: 'Recalls and drills, the last first',
    clause: 'ISO 13485:2016 8.3.3',
    columns: ['Code', 'What', 'Asked', 'Started', 'Closed', 'Found'],
  },
} as const satisfies Record<string, { title: string; clause: string; columns: readonly string[] }>;

export type AuditorQuestionName = keyof typeof AUDITOR_QUESTIONS;

/** A page of answers, and its paper. */
export const AUDITOR_PAPER = {
  number: (title: string) => title,
  title: (title: string, demo: boolean) => `${title}${demo ? PAPER.demo : ''}`,
  lead: (clause: string) => `Answered from what is on record, ${clause}`,
  period: 'Period',
  periodOf: (from: string | null, to: string | null) =>
    from === null && to === null
      ? 'all that is on record'
      : `${from ?? 'the beginning'} to ${to ?? 'now'}, days of UTC`,
  about: 'Only rows that hold',
  rows: 'Rows',
  nothing: 'Nothing on record.',
} as const;

export const AUDITOR_ANSWERS = {
  lotFile: (revision: number) => `lot file, revision ${revision}`,
  result: (what: string) => `result ${what}`,
  nobody: 'NOBODY',
  approvedBy: (person: string, day: string) => `${person}, ${day}`,
  drill: 'DRILL',
  wrongWay: (from: string, to: string) =>
    `from ${from} to ${to}: expected a first day that is not after the last one; swap them`,
  keptChanging: 'what is on record kept changing meanwhile; nothing was answered, try again',
  recall: 'recall',
  open: 'open',
  closures: ({ built, empty, continued, planned }: Record<'built' | 'empty' | 'continued' | 'planned', number>) =>
    [
      String(built),
      ...(empty === 0 ? [] : [`${empty} of them empty`]),
      ...(continued === 0 ? [] : [`${continued} of them broken off and continued`]),
      ...(planned === 0 ? [] : [`and ${planned} planned`]),
    ].join(', '),
  /** What findings of a log have in common that an auditor asks for together. */
  sort: ({ rule, channel, level }: { rule: string; channel: string | null; level: string }) =>
    `${rule}${channel === null ? '' : ` of ${channel}`}, ${level}`,
  corrected: 'CORRECTED: another value stands in its place',
  /** What became of a value, by its part in the lot. */
  failedAs: {
    planned: 'counts, and does not conform',
    repeat: 'a repeat: counts beside the first, and does not conform',
    replacement: 'of a replacement: counts, and does not conform',
    'invalid test': 'the test was invalid, as decided: does not count',
    reworked: 'from before a rework: does not count',
  },
  noStudy: 'NO STUDY',
  noDisposal: 'no disposal on record',
  grams: (massG: string) => `${massG} g destroyed`,
  evaluated: (law: string, reportable: 'yes' | 'no', by: string, day: string) =>
    `${law}: ${reportable === 'yes' ? 'must be reported' : 'need not be reported'}, ${by}, ${day}`,
  reported: (law: string, day: string) => `${law}: reported ${day}`,
  notAssessed: (why: string) => `NOT ANSWERED FOR THIS LOT: ${why}`,
  notSaidNow: 'in a form that this version does not read',
} as const;
