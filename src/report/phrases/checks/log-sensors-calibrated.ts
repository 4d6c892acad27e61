import { calibrationPhrases } from '../calibration.js';
import type { CheckPhrases } from '../phrase.js';

export const logSensorsCalibrated: CheckPhrases = {
  title: 'Sensors of logs in calibration while these were written',
  asks: 'Was every sensor that the log names in calibration from closing to opening the chamber, and every sensor of a storage place while something of the lot lay there?',
  recompute: `For each build and each "instrument" under "channels" of its logs: its calibration at "closedAt" and, where
nothing is wrong with that, at "openedAt" (as said above). Implants: those of the build. For each storage-place and each of its
"instruments": its calibration at the beginning of each stay (check places-kept) and, where nothing is wrong with that, at its end;
implants: those of the stay, of all stays with one rule. Does not apply when no channel names an instrument and nothing of the lot
lay in a place.`,
  basis: ({ instruments, unnamed }) =>
    `sensors: ${instruments}${unnamed === '' ? '' : `; no sensor named for ${unnamed}`}`,
  doesNotApply: 'no channel of a log names its sensor, and nothing lay in a logged place',
  rules: calibrationPhrases(
    (facts) =>
      `${facts.title} (${facts.instrument}), which logged ${facts.channels} of ${Object.hasOwn(facts, 'place') ? `place ${facts.place}` : facts.build},`,
  ),
};
