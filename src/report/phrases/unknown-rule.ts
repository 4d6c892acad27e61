import type { Words } from './phrase.js';

/** Of a finding whose rule this version does not know: its code and facts as they are. */
export const UNKNOWN_RULE = {
  fact: (name: string, value: string) => `${name} ${value}`,
  says: (rule: string, facts: string) => `${rule}: ${facts}`,
  finding: (rule: string, facts: string): Words => ({
    says: `${rule}: ${facts}.`,
    clearedBy: 'Quality engineer: assess the lot again.',
  }),
  notOnRecord: 'finding not on record',
};
