import type { CheckCode } from '../assessment/checks/check-code.js';
import { soleSubject } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import type { RecordedSignature } from '../store/signatures.js';
import type { AssessedUnits } from './assessed-units.js';
import type { UnitState } from './unit-states.js';

/** The stages that a lot goes through, in their order. */
export const LOT_STAGES = ['planned', 'built', 'tested', 'reviewed', 'released', 'sent'] as const;
export type LotStage = (typeof LOT_STAGES)[number];

export interface StageFacts {
  readonly lot: Lot;
  readonly assessed: AssessedUnits | undefined;
  /** On its lot files. */
  readonly statements: readonly RecordedSignature[];
  readonly states: readonly UnitState[];
  /** Nothing of it is left to decide. */
  readonly closed: boolean;
  /** Serials that left the cell. */
  readonly sent: ReadonlySet<string>;
}

/** The last stage that is behind a lot. A later one counts only where all before it are behind the lot too. */
export function stageOf({ lot, assessed, statements, states, closed, sent }: StageFacts): LotStage {
  if (lot.builds.some(({ state }) => state === 'planned')) return 'planned';
  if (!assessed || (!closed && !isTested(assessed))) return 'built';
  const isReviewed = statements.some(
    ({ signed: { statement } }) =>
      statement.meaning === 'reviewed' && soleSubject(statement).digest === assessed.dossierDigest,
  );
  if (!closed) return isReviewed ? 'reviewed' : 'tested';
  const released = states.filter(({ decision }) => decision === 'released');
  return released.length > 0 && released.every(({ serial }) => sent.has(serial)) ? 'sent' : 'released';
}

const RESULTS_COMPLETE: CheckCode = 'results-complete';

const isTested = ({ checks }: AssessedUnits): boolean => !checks.some(({ code }) => code === RESULTS_COMPLETE);
