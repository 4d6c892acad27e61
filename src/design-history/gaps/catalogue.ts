import { actionLate } from './action-late.js';
import { actionOpen } from './action-open.js';
import { baselineNotAsRecorded } from './baseline-not-as-recorded.js';
import { baselineWithDraft } from './baseline-with-draft.js';
import { changeLineOpen } from './change-line-open.js';
import { changeListAltered } from './change-list-altered.js';
import { changeNotListed } from './change-not-listed.js';
import { characteristicWithoutInput } from './characteristic-without-input.js';
import { claimNotHeld } from './claim-not-held.js';
import { claimUndecided } from './claim-undecided.js';
import { controlNotVerified } from './control-not-verified.js';
import { criterionNotMeasured } from './criterion-not-measured.js';
import type { GapRule } from './gap-rule.js';
import { hazardWithoutControl } from './hazard-without-control.js';
import { historyMissing } from './history-missing.js';
import { inputNotVerified } from './input-not-verified.js';
import { inputWithoutOutput } from './input-without-output.js';
import { needNotValidated } from './need-not-validated.js';
import { needWithoutInput } from './need-without-input.js';
import { notApproved } from './not-approved.js';
import { outputUnasked } from './output-unasked.js';
import { planMissing } from './plan-missing.js';
import { protocolAfterData } from './protocol-after-data.js';
import { rationaleThin } from './rationale-thin.js';
import { reviewNotIndependent } from './review-not-independent.js';
import { reviewerIsAuthor } from './reviewer-is-author.js';
import { revisionWithoutChange } from './revision-without-change.js';
import { stageNotReviewed } from './stage-not-reviewed.js';
import { studyNotAged } from './study-not-aged.js';
import { studyNotMet } from './study-not-met.js';
import { studyNotSterilised } from './study-not-sterilised.js';
import { studyOtherAlloy } from './study-other-alloy.js';
import { studyOtherFamily } from './study-other-family.js';
import { studySuperseded } from './study-superseded.js';
import { studyWithoutEvidence } from './study-without-evidence.js';
import { supplierApprovalEnds } from './supplier-approval-ends.js';
import { tieSuperseded } from './tie-superseded.js';
import { tieToNothing } from './tie-to-nothing.js';
import { transferUnshown } from './transfer-unshown.js';
import { triggerMachineMoved } from './trigger-machine-moved.js';
import { triggerNewSupplier } from './trigger-new-supplier.js';
import { triggerRecipeGroup } from './trigger-recipe-group.js';
import { validationEnds } from './validation-ends.js';
import { worstCaseWithoutStudy } from './worst-case-without-study.js';

/** Every rule, in the order in which gaps are told. */
export const GAP_RULES: readonly GapRule[] = [
  historyMissing,
  planMissing,
  stageNotReviewed,
  notApproved,
  needWithoutInput,
  needNotValidated,
  inputWithoutOutput,
  inputNotVerified,
  outputUnasked,
  characteristicWithoutInput,
  tieSuperseded,
  tieToNothing,
  studySuperseded,
  studyNotMet,
  protocolAfterData,
  rationaleThin,
  studyWithoutEvidence,
  criterionNotMeasured,
  claimNotHeld,
  claimUndecided,
  studyOtherFamily,
  studyOtherAlloy,
  studyNotSterilised,
  studyNotAged,
  worstCaseWithoutStudy,
  hazardWithoutControl,
  controlNotVerified,
  revisionWithoutChange,
  changeNotListed,
  changeLineOpen,
  changeListAltered,
  reviewerIsAuthor,
  reviewNotIndependent,
  actionLate,
  actionOpen,
  supplierApprovalEnds,
  validationEnds,
  triggerMachineMoved,
  triggerNewSupplier,
  triggerRecipeGroup,
  transferUnshown,
  baselineWithDraft,
  baselineNotAsRecorded,
];
