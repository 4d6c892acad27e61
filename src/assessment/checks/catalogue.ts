import { calibrationValid } from './calibration-valid.js';
import { certificatesWithinLimits } from './certificates-within-limits.js';
import type { Check } from './check.js';
import { documentsNotWithdrawn } from './documents-not-withdrawn.js';
import { logComplete } from './log-complete.js';
import { logFindingsDecided } from './log-findings-decided.js';
import { logSensorsCalibrated } from './log-sensors-calibrated.js';
import { materialAccepted } from './material-accepted.js';
import { recipeInForce } from './recipe-in-force.js';
import { resultsComplete } from './results-complete.js';
import { resultsSigned } from './results-signed.js';
import { specificationInForce } from './specification-in-force.js';

/** Every release check, in the order in which a lot meets them. */
export const CHECKS: readonly Check[] = [
  recipeInForce,
  specificationInForce,
  documentsNotWithdrawn,
  materialAccepted,
  certificatesWithinLimits,
  logComplete,
  logFindingsDecided,
  logSensorsCalibrated,
  resultsComplete,
  resultsSigned,
  calibrationValid,
];
