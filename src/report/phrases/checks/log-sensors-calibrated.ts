import { calibrationPhrases } from '../calibration.js';
import type { CheckPhrases } from '../phrase.js';

export const logSensorsCalibrated: CheckPhrases = {
  title: 'Sensors of the process log in calibration during the build',
  asks: 'Was every sensor that the log names in calibration from closing to opening the chamber?',
  recompute: `For each build and each "instrument" under "channels" of its logs: its calibration at "closedAt" and, where
nothing is wrong with that, at "openedAt" (as said above). Implants: those of the build. Does not apply when no channel names an
instrument.`,
  basis: ({ instruments, unnamed }) =>
    `sensors: ${instruments}${unnamed === '' ? '' : `; no sensor named for ${unnamed}`}`,
  doesNotApply: 'no channel of a log names its sensor',
  rules: calibrationPhrases(
    ({ title, instrument, channels, build }) => `${title} (${instrument}), which logged ${channels} of ${build},`,
  ),
};
