import type { ReadHead } from '../ledger/checkpoint.js';
import type { KeptHeadFinding } from '../ledger/stored-fault.js';
import type { KeptHead } from './ledger-report.js';

/**
 * What a head that was kept outside tells of the ledger that is here.
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
  const told = (found: KeptHeadFinding): KeptHead => ({ ...head, grownOnly: found.code === 'only grown', found });
  if (head.origin !== origin) {
    return told({ code: 'head of another trail', facts: { head: head.origin, own: origin ?? null } });
  }
  if (head.size > size) return told({ code: 'entries cut off', facts: { covers: head.size, size } });
  if (rootThen !== head.root) return told({ code: 'covered entries changed', facts: { size: head.size } });
  return told({ code: 'only grown', facts: { from: head.size, to: size, key: head.signedBy } });
}
