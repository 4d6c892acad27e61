import type { Event } from '../../src/ledger/event.js';

/** A hold that the program placed by itself, because of a document that came in: the one act that needs nobody's key. */
export const programHold = (lot = 'L-1', units: readonly string[] = []): Extract<Event, { type: 'hold-placed' }> => ({
  type: 'hold-placed',
  lot,
  units: [...units],
  cause: { kind: 'lot', key: lot, revision: 1 },
});
