import { DECISION } from './decision.js';

/** Words of a line on a log finding, beside what the finding itself says. */
export const FINDING_LINE = {
  alike: (members: number, says: string) => `${members} findings alike: ${says}`,
  decided: (signed: string, reason: string | null) => `${signed}: ${reason ?? ''}`,
  needsNone: 'needs no decision',
  open: DECISION.open,
};
