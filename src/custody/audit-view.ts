import { timeText } from '../dossier/time-text.js';
import type { Subject } from '../ledger/subject.js';
import type { TrailLine } from '../ledger/trail.js';
import { kindText, subjectKeyText } from '../report/phrases/kinds.js';

/** So many values stand open on the page; the others unfold. */
const OPEN_CHANGES = 6;
/** So many unfold: of more, the line says how many, and the CSV has them. */
const MOST_CHANGES = 300;

/** A line of the audit trail as the page shows it. */
export function trailLineView(line: TrailLine) {
  const { seq, at, offset, actor, act, subject, reason, changes } = line;
  return {
    seq,
    when: timeText(at),
    place: offset === '+00:00' ? '' : `UTC${offset} there`,
    actor,
    act,
    kind: kindText(subject.kind),
    key: subject.key,
    // A hash has no end that anybody reads.
    keyShown: /^[0-9a-f]{64}$/.test(subject.key) ? `${subject.key.slice(0, 12)}…` : subjectKeyText(subject),
    revision: subject.revision,
    href: pageOf(subject),
    reason,
    first: changes.slice(0, OPEN_CHANGES),
    more: changes.slice(OPEN_CHANGES, MOST_CHANGES),
    beyond: Math.max(0, changes.length - MOST_CHANGES),
  };
}

/** The page of a thing, where it has one. */
function pageOf({ kind, key }: Subject): string | null {
  if (kind === 'lot' || kind.endsWith(' of lot')) return `/lots/${encodeURIComponent(key)}`;
  if (kind === 'account' || kind === 'person') return `/people/${encodeURIComponent(key)}`;
  return null;
}
