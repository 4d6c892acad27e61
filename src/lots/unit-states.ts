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

const UNDECIDED: Standing = { ...NOT_DECIDED, revoked: null, hold: null };

/**
 * State of each unit of a lot, from its statements and events in the order of the ledger. A release can be revoked and
 * is never erased; a hold lies over whatever was decided.
 */
export function unitStates(
  serials: readonly string[],
  statements: readonly RecordedSigned[],
  events: readonly RecordedEvent[],
): UnitState[] {
  const unseen = unseenChanges(events);
  const happened = inLedgerOrder(statements, events);
  return serials.map((serial) => {
    const standing = coursesOf(serial, happened).at(-1)?.standing ?? UNDECIDED;
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

interface RecordedSigned {
  readonly signed: Signed;
  readonly ledgerSeq: number;
}

/** One thing that happened to a lot: a statement that somebody signed, or an event. */
export type Happened = RecordedSigned | RecordedEvent;

export const inLedgerOrder = (statements: readonly RecordedSigned[], events: readonly RecordedEvent[]): Happened[] =>
  [...statements, ...events].sort((a, b) => a.ledgerSeq - b.ledgerSeq);

/** How an implant stood after each thing that changed how it stands, in their order. */
export function coursesOf(serial: string, happened: readonly Happened[]) {
  const courses: { readonly standing: Standing; readonly after: Happened }[] = [];
  for (const after of happened) {
    const before = courses.at(-1)?.standing ?? UNDECIDED;
    const standing = 'signed' in after ? decided(before, serial, after.signed) : changed(before, serial, after);
    if (standing !== before) courses.push({ standing, after });
  }
  return courses;
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
