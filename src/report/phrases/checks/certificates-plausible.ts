import { type CheckPhrases, PAIRS, readFact, type Told } from '../phrase.js';

const what = ({ certificate, material, receipt }: Told): string =>
  `Certificate ${certificate} of ${material}, receipt ${receipt}`;

const COMPARE = 'A second person: compare the lines with the certificate. If they are right, ask the supplier.';

export const certificatesPlausible: CheckPhrases = {
  title: 'Certificates plausible',
  asks: 'Do the particle sizes of each certificate rise from D10 over D50 to D90, and do its elements add up?',
  recompute: `For each build and each receipt that went into it, where it has a certificate and names a material specification. "sizes
out of order" (C) unless the lines D10, D50 and D90 that are there convert to um and each is more than the one before. With
"sumRange", and when all lines with its "properties" are there and convert to its "ucum": "sum out of range" (C) where their sum lies
below "lower", or above "upper" with values marked < or ≤ taken as 0; a sum with a value marked > or ≥ lies below nothing.
Implants: those of the build. Does not apply when there is no such receipt.`,
  basis: ({ certificates }) =>
    readFact(PAIRS, certificates)
      .map(([number, receipt]) => `certificate ${number} of receipt ${receipt}`)
      .join('; '),
  doesNotApply: 'no receipt names what it was ordered to',
  rules: {
    'sizes out of order': (facts) => ({
      says: `${what(facts)} states ${facts.values}: of D10, D50 and D90 each is more than the one before.`,
      clearedBy: COMPARE,
    }),
    'sum out of range': (facts) => ({
      says: `${what(facts)}: ${facts.values} make ${facts.sum} ${facts.unit} together, expected ${facts.lower} to ${facts.upper} ${facts.unit}.`,
      clearedBy: COMPARE,
    }),
  },
};
