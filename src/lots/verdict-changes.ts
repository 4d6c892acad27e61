import type { Event, RecordedEvent } from '../ledger/event.js';

type Recorded = Extract<Event, { type: 'verdicts-changed' }>;

/** A verdict on an implant that rules of another version changed, while its facts stayed. */
export interface VerdictChange {
  /** The entry of the audit trail that records it. */
  readonly entry: number;
  readonly at: string;
  readonly serial: string;
  readonly before: Recorded['implants'][number]['before'];
  readonly after: Recorded['implants'][number]['after'];
  /** Checks of the lot that came to another outcome; null where a version has no such check. */
  readonly checks: Recorded['checks'];
  /** Set where these rules could not assess the lot file of before: facts may have changed the verdict too. */
  readonly notAgain: NonNullable<Recorded['notAgain']> | null;
  /** Who looked at it, and what they said; null until somebody has. */
  readonly seen: { readonly by: string; readonly at: string; readonly reason: string } | null;
}

/** Changed verdicts of a lot in the order of the ledger, from its events. */
export function verdictChanges(events: readonly RecordedEvent[]): VerdictChange[] {
  const seen = new Map<number, NonNullable<VerdictChange['seen']>>();
  for (const { event, actor, at, reason } of events) {
    if (event.type !== 'verdict-changes-seen') continue;
    for (const entry of event.entries) seen.set(entry, { by: actor, at, reason: reason ?? '' });
  }
  return events.flatMap(({ event, at, ledgerSeq: entry }) =>
    event.type === 'verdicts-changed'
      ? event.implants.map((implant) => ({
          ...implant,
          entry,
          at,
          checks: event.checks,
          notAgain: event.notAgain ?? null,
          seen: seen.get(entry) ?? null,
        }))
      : [],
  );
}

/** Those that nobody has looked at. */
export const unseenChanges = (events: readonly RecordedEvent[]): VerdictChange[] =>
  verdictChanges(events).filter(({ seen }) => seen === null);
