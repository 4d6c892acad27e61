import type { LedgerEntry } from './entry.js';

/** What a ledger entry is about: the same words on the page, in exports and where a check names what differs. */
export interface Subject {
  readonly kind: string;
  readonly key: string;
  readonly revision: number | null;
}

export function subjectOfEntry(entry: LedgerEntry): Subject {
  switch (entry.type) {
    case 'folder-created':
      return plain('folder', 'data');
    case 'revision-recorded':
      return { kind: entry.kind, key: entry.key, revision: entry.revision };
    case 'evidence-received':
      return plain('evidence', entry.sha256);
    case 'log-scanned':
      return plain('log of build', entry.build);
    case 'statement-signed': {
      const { kind, key } = entry.subject;
      return plain(kind, entry.subjects === 1 ? key : `${key} and ${entry.subjects - 1} more`);
    }
    case 'event-recorded':
      return plain(entry.subject.kind, entry.subject.key);
    case 'results-recorded':
      return plain('results of lot', entry.lot);
    case 'dossier-frozen':
      return plain('lot file of lot', entry.lot);
    case 'assessment-made':
      return plain('assessment of lot', entry.lot);
    case 'lot-summarised':
      return plain('summaries of lot', entry.lot);
    case 'record-issued':
      return { kind: 'record', key: entry.number, revision: entry.revision };
  }
}

const plain = (kind: string, key: string): Subject => ({ kind, key, revision: null });

export const subjectText = ({ kind, key, revision }: Subject): string =>
  `${kind} ${key}${revision === null ? '' : `, revision ${revision}`}`;
