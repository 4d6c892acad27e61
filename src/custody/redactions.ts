import { faultOfAct } from '../ledger/signed-acts.js';
import type { Reads } from '../store/repositories.js';

export interface HeldRedaction {
  readonly at: string;
  readonly persons: string[];
}

/**
 * Evidence whose bytes two people had removed, by hash. A redaction that they did not sign removes nothing: bytes that are
 * gone do not come back when the audit trail is found to be forged.
 */
export async function redactionsThatHold({ events }: Reads): Promise<Map<string, HeldRedaction>> {
  const known = await events.knownKeys();
  const redactions = new Map<string, HeldRedaction>();
  for (const told of await events.ofTypes(['evidence-redacted'])) {
    const { event, at } = told;
    if (event.type !== 'evidence-redacted' || faultOfAct(told, known) !== undefined) continue;
    redactions.set(event.sha256, { at, persons: event.persons });
  }
  return redactions;
}
