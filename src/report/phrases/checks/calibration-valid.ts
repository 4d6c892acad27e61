import { ABSENT } from '../absent.js';
import { calibrationPhrases } from '../calibration.js';
import type { CheckPhrases } from '../phrase.js';

export const calibrationValid: CheckPhrases = {
  title: 'Instruments in calibration when they were used',
  asks: 'Was every instrument in calibration at the moment of each measurement?',
  recompute: `For each current row with an instrument that the lot file holds: its calibration at measuredAt (as said above).
Implants: those of the specimen.`,
  basis: ({ instruments }) => `instruments used: ${instruments || ABSENT.none}`,
  rules: calibrationPhrases(({ title, instrument }) => `${title} (${instrument})`),
};
