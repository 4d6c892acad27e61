import type { CheckPhrases, Told } from '../phrase.js';

const clearedBy = 'Operator: read the code again, and print and inspect new labels where it is wrong.';
const what = ({ code, unit }: Told): string => `Code ${code} that was read, of ${unit},`;

export const codesRead: CheckPhrases = {
  title: 'Codes as read agree with the lot',
  asks: 'Do the codes that were read off the labels name this device, this lot and its implants, each once?',
  basis: ({ codes }) => `codes read: ${codes}`,
  doesNotApply: 'no code was read, and no law that is named asks for a device identifier',
  rules: {
    'none read': () => ({
      says: 'Labels are counted, and no code was read off any of them, although a law asks for a device identifier.',
      clearedBy: 'Operator: read the code of each label, and enter what the reader gave.',
    }),
    'not readable': ({ code }) => ({
      says: `Code ${code} that was read breaks the grammar of element strings.`,
      clearedBy,
    }),
    'no implant of the lot': ({ code }) => ({
      says: `Code ${code} that was read names no implant of this lot.`,
      clearedBy,
    }),
    'another lot': (facts) => ({ says: `${what(facts)} names another lot.`, clearedBy }),
    'another device': (facts) => ({
      says: `${what(facts)} names another device identifier than the family.`,
      clearedBy,
    }),
    'no device identifier': (facts) => ({ says: `${what(facts)} carries no device identifier.`, clearedBy }),
    'read twice': (facts) => ({ says: `${what(facts)} was read before.`, clearedBy }),
  },
};
