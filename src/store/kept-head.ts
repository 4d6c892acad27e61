import type { ReadHead } from '../ledger/checkpoint.js';
import type { KeptHead } from './ledger-report.js';

/**
 * What a head that was kept outside tells of the ledger that is here, in words.
 * @param origin under which heads of this ledger are signed.
 * @param size of the ledger now.
 * @param rootThen root over as many entries as the head covers.
 */
export function keptHead(
  head: ReadHead,
  origin: string | undefined,
  size: number,
  rootThen: string | undefined,
): KeptHead {
  const told = (grownOnly: boolean, says: string): KeptHead => ({ ...head, grownOnly, says });
  if (head.origin !== origin) {
    const names = `it bears the name ${head.origin}, and this audit trail is ${origin ?? 'without a name'}`;
    return told(false, `the head is of another audit trail, or another was put in its place: ${names}`);
  }
  if (head.size > size) {
    return told(false, `entries were cut off: the head covers ${head.size}, and there are ${size}`);
  }
  if (rootThen !== head.root) {
    return told(false, `what the head covers was changed: the first ${head.size} entries are not those it was made of`);
  }
  const key =
    head.signedBy === null
      ? 'the key that signed it is not known here'
      : `signed by the key ${head.signedBy.slice(0, 12)}`;
  return told(true, `the audit trail has only grown since: from ${head.size} to ${size} entries (${key})`);
}
