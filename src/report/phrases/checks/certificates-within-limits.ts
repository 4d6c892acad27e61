import { ABSENT } from '../absent.js';
import { limitsText } from '../limits.js';
import { type CheckPhrases, CONCEDE, ifTold, PAIRS, readFact, type Told } from '../phrase.js';

const what = ({ material, receipt }: Told): string => `${material}, receipt ${receipt}`;

/** A limit may have one side only. */
const range = (facts: Told): string =>
  `${limitsText({ lower: ifTold(facts, 'lower'), upper: ifTold(facts, 'upper') })} ${facts.limitUnit}`;

export const certificatesWithinLimits: CheckPhrases = {
  title: 'Certificates complete and within limits',
  asks: 'Does every material certificate state each property that the specification limits, within its limits?',
  recompute: `For each build and each receipt that went into it, where the specification has limits for its material
under "materials": "no certificate" where it has none. Else "transcription not checked" where nobody but "transcribedBy" signed
"checked" on it; and for each limit the line with its property: "line missing", "outside limits" [does not conform] (C), or "not
decidable" (C). Implants: those of the build. Does not apply when "materials" is empty.`,
  basis: ({ certificates }) =>
    readFact(PAIRS, certificates)
      .map(([number, receipt]) => `certificate ${number} of receipt ${receipt}`)
      .join('; '),
  doesNotApply: 'the specification limits no property of a material',
  rules: {
    'no certificate': (facts) => ({
      says: `${what(facts)} went into ${facts.build} and has no certificate.`,
      clearedBy: 'Operator: take in the certificate. "Certificate to follow" never releases.',
    }),
    'transcription not checked': (facts) => ({
      says: `Certificate ${facts.certificate} of ${what(facts)} was transcribed by ${facts.transcribedBy} and checked by ${facts.claimedBy === '' ? ABSENT.nobody : `${facts.claimedBy}, as the file claims and nobody signed`}.`,
      clearedBy: 'A second person: compare each line with the certificate and sign it as checked.',
    }),
    'line missing': (facts) => ({
      says: `Certificate ${facts.certificate} of ${what(facts)} states no ${facts.property} (limit ${range(facts)}).`,
      clearedBy: 'Quality engineer: get the value from the supplier or have it measured.',
    }),
    'outside limits': (facts) => ({
      says: `${facts.property} of ${what(facts)} is ${facts.value} ${facts.unit}, limit ${range(facts)}.`,
      clearedBy: CONCEDE,
    }),
    'not decidable': (facts) => ({
      says: `${facts.property} of ${what(facts)} is reported as ${facts.value} ${facts.unit}: whether it keeps ${range(facts)} is open.`,
      clearedBy: 'Analyst: have it measured by a method whose detection limit lies below the limit.',
    }),
  },
};
