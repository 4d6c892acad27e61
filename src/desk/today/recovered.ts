import type { RecordedEvent } from '../../ledger/event.js';
import { ACCOUNTS } from '../../report/phrases/accounts.js';

/** So long everybody is told of a link that was made at the machine. */
const RECOVERED_MS = 30 * 24 * 3_600_000;

/** Links for administrators that were made at the machine a short time ago, in words. */
export const recoveredSince = (events: readonly RecordedEvent[], now: Date): string[] =>
  events.flatMap(({ event, at, actor, reason }) =>
    event.type === 'invitation-made' && event.atMachine && now.getTime() - Date.parse(at) < RECOVERED_MS
      ? [ACCOUNTS.recovered(event.person, actor, at, reason ?? '')]
      : [],
  );
