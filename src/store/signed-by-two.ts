import { canonicalJson } from '../dossier/canonical.js';
import { hasSignedText } from '../dossier/public-key.js';
import type { Event } from '../ledger/event.js';
import { successionText } from '../ledger/key-chain.js';
import type { PersonKeys } from '../ledger/person-keys.js';

type Renewed = Extract<Event, { type: 'anchor-renewed' }>;

/** What two people sign who accept the audit trail as it is. */
export const renewalText = ({ persons, before, ledgerSize, root }: Omit<Renewed, 'type' | 'signatures'>): string =>
  canonicalJson({ what: 'anchor-renewed', persons, before, ledgerSize, root });

/** What an event had to be signed for by two people; undefined where it needs nobody. */
function textOfTwo(event: Event): string | undefined {
  if (event.type === 'anchor-renewed') return renewalText(event);
  if (event.type !== 'key-made' || event.persons === undefined) return undefined;
  const { replaces, fingerprint, persons } = event;
  return successionText({ replaces: replaces!, fingerprint, persons });
}

/** Whether the two people that an event names signed it, each with the key that they had at that entry. */
export function lacksItsTwo(event: Event, at: number, { keys }: PersonKeys): boolean {
  const text = textOfTwo(event);
  if (text === undefined || !('persons' in event) || !('signatures' in event)) return text !== undefined;
  const signed = (event.signatures ?? []).filter(({ person, key, signature }) => {
    const own = keys.get(key);
    if (own?.person !== person || own.from > at || (own.to !== null && own.to <= at)) return false;
    return hasSignedText(own.publicPem, text, signature);
  });
  const by = new Set(signed.map(({ person }) => person));
  return by.size !== 2 || !(event.persons ?? []).every((person) => by.has(person));
}
