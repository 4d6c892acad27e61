import type { CheckPhrases, Told } from '../phrase.js';

const clearedBy = 'Operator: read the code again, and print and inspect new labels where it is wrong.';
const what = ({ code, unit }: Told): string => `Code ${code} that was read, of ${unit},`;

export const codesRead: CheckPhrases = {
  title: 'Codes as read agree with the lot',
  asks: 'Do the codes that were read off the labels name this device, this lot and its implants, each once?',
  recompute: `With "read" under "labels" of the lot, each code in its order is an element string of GS1 (symbology identifier, brackets or
separators, or 01 with a GTIN), or is the serial itself. "not readable" [blocks release] where the string breaks the grammar;
"no implant of the lot" [blocks release] without a serial (21) of the lot; then, with that implant: "another lot" [blocks
release] when lot (10) is another, "another device" [blocks release] when GTIN (01) is not "udiDi" of the family, "no device
identifier" [blocks release] without a GTIN where the family has one, "another expiry" [blocks release] when, with a GTIN, expiry (17)
is not the expiry of the implant as in expiry-after-surgery (absent where it has none), "read twice" [blocks release]; the first of these. "fewer read than inspected" [blocks release] with fewer codes than the "sample" that was "inspected",
which alone leaves the check undecided. Without "read" but with
"labels", where a law of a case asks for a udi: "none read" [blocks release], which leaves the check undecided. Implants: all, but
for the five that name one. Does not apply without "read" in every other case.`,
  basis: ({ codes }) => `codes read: ${codes}`,
  doesNotApply: 'no code was read, and no law that is named asks for a device identifier',
  rules: {
    'none read': () => ({
      says: 'Labels are counted, and no code was read off any of them, although a law asks for a device identifier.',
      clearedBy: 'Operator: read the code of each label, and enter what the reader gave.',
    }),
    'fewer read than inspected': ({ codes, sample }) => ({
      says: `${sample} labels were inspected, and the codes of ${codes} of them were read.`,
      clearedBy: 'Operator: read the code of each label that was inspected, and enter what the reader gave.',
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
    'another expiry': (facts) => ({
      says: `${what(facts)} carries another day of expiry than the implant has, or one alone has it.`,
      clearedBy,
    }),
    'read twice': (facts) => ({ says: `${what(facts)} was read before.`, clearedBy }),
  },
};
