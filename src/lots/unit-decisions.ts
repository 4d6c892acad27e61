import { soleSubject } from '../dossier/statement.js';
import type { RecordedEvent } from '../ledger/event.js';
import type { CaseUnit } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';
import type { RecordedSignature } from '../store/signatures.js';
import { type UnitState, unitStates } from './unit-states.js';

/** Where each of these implants of a lot stands. */
export async function unitStatesOf(read: Reads, lot: string, serials: readonly string[]): Promise<UnitState[]> {
  const statements = await read.signatures.of({ kind: 'lot file', key: lot });
  return unitStates(serials, statements, await read.events.of({ kind: 'lot', key: lot }));
}

/** Implants that are released for a case, for whatever step, of whatever lot. */
export async function releasedForCase(read: Reads, code: string): Promise<CaseUnit[]> {
  const units = await read.entries.unitsOfCase(code);
  const released = new Set<string>();
  for (const lot of new Set(units.map((unit) => unit.lot))) {
    const serials = units.filter((unit) => unit.lot === lot).map(({ serial }) => serial);
    for (const { serial, decision } of await unitStatesOf(read, lot, serials)) {
      if (decision === 'released') released.add(serial);
    }
  }
  return units.filter(({ serial }) => released.has(serial));
}

const OF_UNITS = ['hold-placed', 'hold-lifted', 'release-revoked', 'verdicts-changed', 'verdict-changes-seen'] as const;

/** What was signed on lot files and what befell their units, by lot, read once for all lots. */
export async function decisionsOnAllLots(read: Reads) {
  const statements = new Map<string, RecordedSignature[]>();
  for (const recorded of await read.signatures.ofKind('lot file')) {
    const { key } = soleSubject(recorded.signed.statement);
    const known = statements.get(key);
    if (known) known.push(recorded);
    else statements.set(key, [recorded]);
  }
  const events = new Map<string, RecordedEvent[]>();
  for (const recorded of await read.events.ofTypes(OF_UNITS)) {
    const { event } = recorded;
    if (!('lot' in event) || event.lot === null) continue;
    const known = events.get(event.lot);
    if (known) known.push(recorded);
    else events.set(event.lot, [recorded]);
  }
  return (lot: string) => ({ statements: statements.get(lot) ?? [], events: events.get(lot) ?? [] });
}
