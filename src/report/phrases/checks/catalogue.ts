import type { CheckCode } from '../../../assessment/checks/check-code.js';
import type { CheckPhrases } from '../phrase.js';
import { afterReleaseRelied } from './after-release-relied.js';
import { calibrationValid } from './calibration-valid.js';
import { caseOpen } from './case-open.js';
import { certificatesPlausible } from './certificates-plausible.js';
import { certificatesWithinLimits } from './certificates-within-limits.js';
import { changeoverDone } from './changeover-done.js';
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

/** What is said of each release check, by its code. */
export const CHECK_PHRASES: Readonly<Record<CheckCode, CheckPhrases>> = {
  'after-release-relied': afterReleaseRelied,
  'calibration-valid': calibrationValid,
  'certificates-plausible': certificatesPlausible,
  'certificates-within-limits': certificatesWithinLimits,
  'case-open': caseOpen,
  'delivered-as-ordered': deliveredAsOrdered,
  'deposited-metal-known': depositedMetalKnown,
  'design-accepted': designAccepted,
  'design-inside-envelope': designInsideEnvelope,
  'design-still-current': designStillCurrent,
  'image-age': imageAge,
  'recipe-as-designed': recipeAsDesigned,
  'side-agrees': sideAgrees,
  'software-as-validated': softwareAsValidated,
  'risk-build-signed': riskBuildSigned,
  'route-needs': routeNeeds,
  'statement-signed': statementSigned,
  'codes-read': codesRead,
  'changeover-done': changeoverDone,
  'claims-agree': claimsAgree,
  'consumables-within-limit': consumablesWithinLimit,
  'corrections-judged': correctionsJudged,
  'counts-balance': countsBalance,
  'coupons-planned': couponsPlanned,
  'coupons-represent': couponsRepresent,
  'destroyed-once': destroyedOnce,
  'documents-not-withdrawn': documentsNotWithdrawn,
  'events-in-order': eventsInOrder,
  'expiry-after-surgery': expiryAfterSurgery,
  'holds-kept': holdsKept,
  'loads-accepted': loadsAccepted,
  'loads-kept': loadsKept,
  'loads-named': loadsNamed,
  'failures-explained': failuresExplained,
  'labels-balance': labelsBalance,
  'line-cleared': lineCleared,
  'limits-before-data': limitsBeforeData,
  'log-complete': logComplete,
  'log-findings-decided': logFindingsDecided,
  'log-sensors-calibrated': logSensorsCalibrated,
  'machines-maintained': machinesMaintained,
  'material-accepted': materialAccepted,
  'methods-in-force': methodsInForce,
  'moves-signed': movesSigned,
  'nonconformities-closed': nonconformitiesClosed,
  'rework-repeated': reworkRepeated,
  'operators-qualified': operatorsQualified,
  'places-kept': placesKept,
  'powder-balance': powderBalance,
  'powder-reuse-within-limit': powderReuseWithinLimit,
  'process-validated': processValidated,
  'recipe-in-force': recipeInForce,
  'recipe-inside-envelope': recipeInsideEnvelope,
  'repeats-decided': repeatsDecided,
  'results-complete': resultsComplete,
  'results-in-time': resultsInTime,
  'results-signed': resultsSigned,
  'settings-followed': settingsFollowed,
  'specification-in-force': specificationInForce,
  'stock-part-accepted': stockPartAccepted,
  'interface-tested': interfaceTested,
  'stock-kept': stockKept,
  'supplier-approved': supplierApproved,
  'testers-qualified': testersQualified,
  'tests-long-enough': testsLongEnough,
  'exposures-stand': exposuresStand,
  'support-window-met': supportWindowMet,
  'shape-within-profile': shapeWithinProfile,
  'zone-classes-covered': zoneClassesCovered,
  acceptance: valuesAccepted,
};
