import type { z } from 'zod';
import { act } from './act.js';
import { complaint } from './after-release/complaint.js';
import { disposal } from './after-release/disposal.js';
import { handover } from './after-release/handover.js';
import { impact } from './after-release/impact.js';
import { outcome } from './after-release/outcome.js';
import { recall } from './after-release/recall.js';
import { unitReturn } from './after-release/unit-return.js';
import { caseKind } from './case.js';
import { caseDesign } from './cases/case-design.js';
import { designAcceptance } from './cases/design-acceptance.js';
import { designEnvelope } from './cases/design-envelope.js';
import { imagingSet } from './cases/imaging-set.js';
import { routePermission } from './cases/route-permission.js';
import { supportWindow } from './cases/support-window.js';
import { certificateProfile } from './certificate-profile.js';
import { changeover } from './changeover.js';
import { channelMap } from './channel-map.js';
import { consumable } from './consumable.js';
import { correctiveAction } from './corrective-action.js';
import { exposure } from './degradation/exposure-document.js';
import { shapeChange } from './degradation/shape-change.js';
import { shapeDeviation } from './degradation/shape-deviation.js';
import { stockPart } from './degradation/stock-part.js';
import { testMedium } from './degradation/test-medium.js';
import { baseline } from './design-history/baseline.js';
import { designChange } from './design-history/design-change.js';
import { designInput } from './design-history/design-input.js';
import { designOutput } from './design-history/design-output.js';
import { designPlan } from './design-history/design-plan.js';
import { designReview } from './design-history/design-review.js';
import { designStudy } from './design-history/design-study.js';
import { designTransfer } from './design-history/design-transfer.js';
import { gapAnswer } from './design-history/gap-answer.js';
import { hazard } from './design-history/hazard.js';
import { labellingDecision } from './design-history/labelling-decision.js';
import { riskControl } from './design-history/risk-control.js';
import { software } from './design-history/software.js';
import { userNeed } from './design-history/user-need.js';
import { equivalenceStudy } from './equivalence-study.js';
import { family } from './family.js';
import { instrument } from './instrument.js';
import { instrumentProfile } from './instrument-profile.js';
import type { DeclaredKind, Kind } from './kind.js';
import { lot } from './lot-document.js';
import { build, coupon, implant } from './lot-parts.js';
import { machine } from './machine.js';
import { materialSpecification } from './material-specification.js';
import { method } from './method.js';
import { nonconformity } from './nonconformity.js';
import { person } from './person.js';
import { placeLog } from './place-log.js';
import { powderState } from './powder-state.js';
import { processLoad } from './process-load.js';
import { processValidation } from './process-validation.js';
import { programVersion } from './program-version.js';
import { heat, receipt } from './receipt.js';
import { recipe } from './recipe.js';
import { result } from './result.js';
import { resultSet } from './result-set.js';
import { reworkInstruction } from './rework-instruction.js';
import { riskBuild } from './risk-build.js';
import { specification } from './specification.js';
import { storagePlace } from './storage-place.js';
import { supplier } from './supplier.js';
import { capabilityPlan } from './trend/capability-plan.js';
import { signalOutcome } from './trend/signal-outcome.js';
import { unitMove } from './unit-move.js';

const DOCUMENTS = {
  family,
  'route-permission': routePermission,
  'design-envelope': designEnvelope,
  case: caseKind,
  'imaging-set': imagingSet,
  'case-design': caseDesign,
  'design-acceptance': designAcceptance,
  'support-window': supportWindow,
  recipe,
  method,
  'process-validation': processValidation,
  'equivalence-study': equivalenceStudy,
  specification,
  supplier,
  'material-specification': materialSpecification,
  receipt,
  'powder-state': powderState,
  consumable,
  machine,
  'channel-map': channelMap,
  'instrument-profile': instrumentProfile,
  'certificate-profile': certificateProfile,
  instrument,
  person,
  lot,
  changeover,
  'risk-build': riskBuild,
  'process-load': processLoad,
  nonconformity,
  'rework-instruction': reworkInstruction,
  'unit-move': unitMove,
  'corrective-action': correctiveAction,
  'storage-place': storagePlace,
  'test-medium': testMedium,
  exposure,
  'stock-part': stockPart,
  handover,
  outcome,
  'unit-return': unitReturn,
  complaint,
  disposal,
  impact,
  recall,
  'capability-plan': capabilityPlan,
  'signal-outcome': signalOutcome,
  'design-plan': designPlan,
  'user-need': userNeed,
  'design-input': designInput,
  'design-output': designOutput,
  'design-study': designStudy,
  'design-review': designReview,
  hazard,
  'risk-control': riskControl,
  'design-change': designChange,
  'design-transfer': designTransfer,
  'labelling-decision': labellingDecision,
  software,
  'gap-answer': gapAnswer,
  baseline,
  'program-version': programVersion,
};
const DECLARED = {
  heat,
  build,
  implant,
  coupon,
  'place-log': placeLog,
  'shape-deviation': shapeDeviation,
  'shape-change': shapeChange,
  'result-set': resultSet,
  result,
  act,
};

type Kinds = typeof DOCUMENTS & typeof DECLARED;
export type KindName = keyof Kinds;
/** What the body of an entry is, by its kind; unknown where the kind is known to nobody. */
export type BodyOf<K extends string> = K extends KindName ? z.output<Kinds[K]['schema']> : unknown;

/** Every kind of document that intake understands. */
export const KINDS: readonly Kind[] = Object.values(DOCUMENTS);

const ALL: ReadonlyMap<string, DeclaredKind> = new Map(Object.entries({ ...DOCUMENTS, ...DECLARED }));

export const kindNamed = (name: string): Kind | undefined => KINDS.find((kind) => kind.kind === name);

/** Every kind, those too that other documents bring into being. */
export const ALL_KINDS: readonly DeclaredKind[] = [...ALL.values()];

/** A kind of either sort, or undefined where nobody knows it. */
export const anyKindNamed = (name: string): DeclaredKind | undefined => ALL.get(name);
