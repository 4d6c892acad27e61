/** Questions that auditors ask, with the clause that asks, and what stands over the columns of the answer. */
export const AUDITOR_QUESTIONS = {
  lots: {
    title: 'All lots of a period, rejected, aborted and empty closures too',
    clause: 'ISO 13485:2016 7.5.1',
    columns: ['Lot', 'Family', 'Opened', 'Closures', 'Implants', 'Released', 'Rejected', 'Open'],
  },
  releases: {
    title: 'Who released or rejected what, and on what data',
    clause: 'ISO 13485:2016 8.2.6',
    columns: ['At', 'Lot', 'Meaning', 'Implants', 'Person', 'Role', 'Lot file (SHA-256)', 'Reason'],
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
  notSaidNow: 'in a form that this version does not read',
} as const;
