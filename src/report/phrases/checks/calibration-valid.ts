import { ABSENT } from '../absent.js';
import { calibrationPhrases } from '../calibration.js';
import type { CheckPhrases } from '../phrase.js';

export const calibrationValid: CheckPhrases = {
  title: 'Instruments in calibration when they were used',
  asks: 'Was every instrument in calibration at the moment of each measurement?',
  recompute: `For each current row with an instrument that the lot file holds: its calibration at measuredAt (as said above).
Implants: those of the specimen. "found out of tolerance later" is not found for implants that an impact clears: a pinned
document "impact", accepted as in section 9 by the digest of its revision, with "kind" "instrument" and "key" the instrument
under "cause", "from" not after and "to" not before measuredAt, and "as" "no effect" for the implant under "decisions". Of its
"ofLots" under "results" the one of this lot has as "sha256" the digest of a list of texts, sorted: for each current row of
the instrument with measuredAt not before "from" and not after "to" the JSON, without blanks, of the list of specimen, piece,
characteristic, replicate, instrument, measuredAt, reportedValue, reportedUcum, evidence and line. The first such impact by
key counts.`,
  basis: ({ instruments, impacts }) =>
    `instruments used: ${instruments || ABSENT.none}${impacts ? `; found off later and looked at: ${impacts}` : ''}`,
  rules: calibrationPhrases(({ title, instrument }) => `${title} (${instrument})`),
};
