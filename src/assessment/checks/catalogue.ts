import type { CharacteristicVerdict } from '../assessment.js';
import { afterReleaseRelied } from './after-release-relied.js';
import { calibrationValid } from './calibration-valid.js';
import { caseOpen } from './case-open.js';
import { certificatesPlausible } from './certificates-plausible.js';
import { certificatesWithinLimits } from './certificates-within-limits.js';
import { changeoverDone } from './changeover-done.js';
import type { Check } from './check.js';
import { claimsAgree } from './claims-agree.js';
import { codesRead } from './codes-read.js';
import { consumablesWithinLimit } from './consumables-within-limit.js';
import { correctionsJudged } from './corrections-judged.js';
import { countsBalance } from './counts-balance.js';
import { couponsPlanned } from './coupons-planned.js';
import { couponsRepresent } from './coupons-represent.js';
import { deliveredAsOrdered } from './delivered-as-ordered.js';
import { depositedMetalKnown } from './deposited-metal-known.js';
import { designAccepted } from './design-accepted.js';
import { designInsideEnvelope } from './design-inside-envelope.js';
import { designStillCurrent } from './design-still-current.js';
import { destroyedOnce } from './destroyed-once.js';
import { documentsNotWithdrawn } from './documents-not-withdrawn.js';
import { eventsInOrder } from './events-in-order.js';
import { expiryAfterSurgery } from './expiry-after-surgery.js';
import { exposuresStand } from './exposures-stand.js';
import { failuresExplained } from './failures-explained.js';
import { holdsKept } from './holds-kept.js';
import { imageAge } from './image-age.js';
import { interfaceTested } from './interface-tested.js';
import { labelsBalance } from './labels-balance.js';
import { limitsBeforeData } from './limits-before-data.js';
import { lineCleared } from './line-cleared.js';
import { loadsAccepted } from './loads-accepted.js';
import { loadsKept } from './loads-kept.js';
import { loadsNamed } from './loads-named.js';
import { logComplete } from './log-complete.js';
import { logFindingsDecided } from './log-findings-decided.js';
import { logSensorsCalibrated } from './log-sensors-calibrated.js';
import { machinesMaintained } from './machines-maintained.js';
import { materialAccepted } from './material-accepted.js';
import { methodsInForce } from './methods-in-force.js';
import { movesSigned } from './moves-signed.js';
import { nonconformitiesClosed } from './nonconformities-closed.js';
import { operatorsQualified } from './operators-qualified.js';
import { placesKept } from './places-kept.js';
import { powderBalance } from './powder-balance.js';
import { powderReuseWithinLimit } from './powder-reuse-within-limit.js';
import { processValidated } from './process-validated.js';
import { recipeAsDesigned } from './recipe-as-designed.js';
import { recipeInForce } from './recipe-in-force.js';
import { recipeInsideEnvelope } from './recipe-inside-envelope.js';
import { repeatsDecided } from './repeats-decided.js';
import { resultsComplete } from './results-complete.js';
import { resultsInTime } from './results-in-time.js';
import { resultsSigned } from './results-signed.js';
import { reworkRepeated } from './rework-repeated.js';
import { riskBuildSigned } from './risk-build-signed.js';
import { routeNeeds } from './route-needs.js';
import { settingsFollowed } from './settings-followed.js';
import { shapeWithinProfile } from './shape-within-profile.js';
import { sideAgrees } from './side-agrees.js';
import { softwareAsValidated } from './software-as-validated.js';
import { specificationInForce } from './specification-in-force.js';
import { statementSigned } from './statement-signed.js';
import { stockKept } from './stock-kept.js';
import { stockPartAccepted } from './stock-part-accepted.js';
import { supplierApproved } from './supplier-approved.js';
import { supportWindowMet } from './support-window-met.js';
import { testersQualified } from './testers-qualified.js';
import { testsLongEnough } from './tests-long-enough.js';
import { valuesAccepted } from './values-accepted.js';
import { zoneClassesCovered } from './zone-classes-covered.js';

/** Every release check, in the order in which a lot meets them; three of them look at the verdicts on its values. */
export const checksFor = (verdicts: readonly CharacteristicVerdict[]): readonly Check[] => [
  caseOpen,
  designStillCurrent,
  designInsideEnvelope,
  imageAge,
  designAccepted,
  sideAgrees,
  recipeAsDesigned,
  softwareAsValidated,
  routeNeeds,
  recipeInForce,
  recipeInsideEnvelope,
  processValidated,
  specificationInForce,
  documentsNotWithdrawn,
  claimsAgree,
  supplierApproved,
  deliveredAsOrdered,
  materialAccepted,
  stockPartAccepted,
  riskBuildSigned,
  certificatesWithinLimits,
  certificatesPlausible,
  powderReuseWithinLimit,
  powderBalance,
  depositedMetalKnown,
  correctionsJudged,
  consumablesWithinLimit,
  machinesMaintained,
  changeoverDone,
  lineCleared,
  operatorsQualified,
  couponsPlanned,
  zoneClassesCovered,
  eventsInOrder,
  logComplete,
  logFindingsDecided,
  settingsFollowed,
  logSensorsCalibrated,
  couponsRepresent,
  limitsBeforeData,
  methodsInForce,
  testersQualified,
  calibrationValid,
  testsLongEnough,
  exposuresStand,
  supportWindowMet,
  shapeWithinProfile,
  stockKept,
  interfaceTested,
  resultsComplete(verdicts),
  resultsInTime,
  resultsSigned,
  repeatsDecided,
  destroyedOnce,
  valuesAccepted(verdicts),
  failuresExplained(verdicts),
  afterReleaseRelied,
  loadsNamed,
  loadsKept,
  loadsAccepted,
  placesKept,
  holdsKept,
  expiryAfterSurgery,
  nonconformitiesClosed,
  reworkRepeated,
  movesSigned,
  countsBalance,
  labelsBalance,
  codesRead,
  statementSigned,
];

/** Codes of the checks that look at what belongs to one case alone. */
export const CHECKS_OF_CASES: ReadonlySet<string> = new Set(
  checksFor([])
    .filter(({ looksAtCases }) => looksAtCases)
    .map(({ code }) => code),
);
