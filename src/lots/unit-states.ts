import type { ReleaseStep } from '../dossier/release-step.js';
import type { Statement } from '../dossier/statement.js';
import {
  afterRevocation,
  afterStatement,
  NOT_DECIDED,
  stepsReleased,
  type UnitCourse,
  type UnitDecision,
} from '../dossier/unit-course.js';
import type { RecordedEvent } from '../ledger/event.js';
import { unseenChanges, type VerdictChange } from './verdict-changes.js';

/** What people decided on one implant, as it stands now. */
export interface UnitState {
  readonly serial: string;
  readonly decision: UnitDecision;
  /** Steps for which it is released as it stands, in their order. */
  readonly releasedFor: readonly ReleaseStep[];
  /** The releases that stand, in the same order. */
  readonly releases: readonly Statement[];
  /** The statement that decided it; of a revoked release the one that was revoked. */
  readonly statement: Statement | null;
  /** The release that was revoked last, as long as nothing was decided since. */
  readonly revoked: (StateNote & { readonly step: ReleaseStep }) | null;
  readonly hold: StateNote | null;
  /** Verdicts on it that rules of another version changed, and at which no quality engineer has looked. */
  readonly unseenChanges: readonly VerdictChange[];
}

interface StateNote {
  readonly by: string;
  readonly at: string;
  readonly reason: string;
}

interface Signed {
  readonly statement: Statement;
}

interface Standing extends UnitCourse<Signed> {
  readonly revoked: UnitState['revoked'];
  readonly hold: UnitState['hold'];
}

/**
 * State of each unit of a lot, from its statements and events in the order of the ledger. A release can be revoked and
 * is never erased; a hold lies over whatever was decided.
 */
export function unitStates(
  serials: readonly string[],
  statements: readonly { readonly signed: Signed; readonly ledgerSeq: number }[],
  events: readonly RecordedEvent[],
): UnitState[] {
  const unseen = unseenChanges(events);
  const happened = [...statements, ...events].sort((a, b) => a.ledgerSeq - b.ledgerSeq);
  return serials.map((serial) => {
    let standing: Standing = { ...NOT_DECIDED, revoked: null, hold: null };
    for (const one of happened) {
      standing = 'signed' in one ? decided(standing, serial, one.signed) : changed(standing, serial, one);
    }
    return {
      serial,
      decision: standing.decision,
      releasedFor: stepsReleased(standing),
      releases: standing.releases.map(({ statement }) => statement),
      statement: standing.decided?.statement ?? null,
      revoked: standing.revoked,
      hold: standing.hold,
      unseenChanges: unseen.filter((change) => change.serial === serial),
    };
  });
}

function decided(standing: Standing, serial: string, signed: Signed): Standing {
  if (!signed.statement.units.includes(serial)) return standing;
  const course = afterStatement<Signed>(standing, signed);
  return course === standing ? standing : { ...course, revoked: null, hold: standing.hold };
}

function changed(standing: Standing, serial: string, { event, actor, at, reason }: RecordedEvent): Standing {
  if (!('units' in event) || !event.units.includes(serial)) return standing;
  const note = { by: actor, at, reason: reason ?? '' };
  switch (event.type) {
    case 'hold-placed':
      return { ...standing, hold: note };
    case 'hold-lifted':
      return { ...standing, hold: null };
    case 'release-revoked': {
      const course = afterRevocation<Signed>(standing, event.step);
      return course === standing
        ? standing
        : { ...course, hold: standing.hold, revoked: { ...note, step: event.step } };
    }
    default:
      return standing;
  }
}
