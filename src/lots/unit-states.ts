import type { Statement } from '../dossier/statement.js';
import type { RecordedEvent } from '../ledger/event.js';
import { unseenChanges, type VerdictChange } from './verdict-changes.js';

/** What people decided on one implant, as it stands now. */
export interface UnitState {
  readonly serial: string;
  readonly decision: 'released' | 'rejected' | 'revoked' | 'open';
  /** The statement that decided it; of a revoked release the one that was revoked. */
  readonly statement: Statement | null;
  readonly revoked: { readonly by: string; readonly at: string; readonly reason: string } | null;
  readonly hold: { readonly by: string; readonly at: string; readonly reason: string } | null;
  /** Verdicts on it that rules of another version changed, and at which no quality engineer has looked. */
  readonly unseenChanges: readonly VerdictChange[];
}

/**
 * State of each unit of a lot, from its statements and events in the order of the ledger. A release can be revoked and
 * is never erased; a hold lies over whatever was decided.
 */
export function unitStates(
  serials: readonly string[],
  statements: readonly { readonly signed: { readonly statement: Statement }; readonly ledgerSeq: number }[],
  events: readonly RecordedEvent[],
): UnitState[] {
  const unseen = unseenChanges(events);
  return serials.map((serial) => {
    let state: UnitState = {
      serial,
      decision: 'open',
      statement: null,
      revoked: null,
      hold: null,
      unseenChanges: unseen.filter((change) => change.serial === serial),
    };
    const happened = [
      ...statements.map(({ signed, ledgerSeq }) => ({ ledgerSeq, apply: () => decided(state, signed.statement) })),
      ...events.map((recorded) => ({ ledgerSeq: recorded.ledgerSeq, apply: () => changed(state, recorded) })),
    ].sort((a, b) => a.ledgerSeq - b.ledgerSeq);
    for (const { apply } of happened) state = apply();
    return state;
  });
}

function decided(state: UnitState, statement: Statement): UnitState {
  const { meaning, units } = statement;
  if ((meaning !== 'released' && meaning !== 'rejected') || !units.includes(state.serial)) return state;
  return { ...state, decision: meaning, statement, revoked: null };
}

function changed(state: UnitState, { event, actor, at, reason }: RecordedEvent): UnitState {
  if (!('units' in event) || !event.units.includes(state.serial)) return state;
  const note = { by: actor, at, reason: reason ?? '' };
  switch (event.type) {
    case 'hold-placed':
      return { ...state, hold: note };
    case 'hold-lifted':
      return { ...state, hold: null };
    case 'release-revoked':
      return state.decision === 'released' ? { ...state, decision: 'revoked', revoked: note } : state;
    default:
      return state;
  }
}
