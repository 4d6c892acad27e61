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
  none: ABSENT.noneSentence,
  more: (others: number) => `${others} more stand in the attached parts of the logs.`,
  reports: 'Nonconformity reports and rework',
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
