import { covers } from '../dossier/statement.js';
import { timeText } from '../dossier/time-text.js';
import { actNamed } from '../people/acts.js';
import type { RevisionState } from '../report/phrases/codes.js';
import { signedText } from '../report/phrases/signatures.js';
import type { Store } from '../store/store.js';

/** One revision of a document: who signed it, and whether it was withdrawn. */
export interface RevisionStanding {
  readonly revision: number;
  readonly recordedAt: string;
  readonly signatures: readonly string[];
  readonly state: RevisionState;
  readonly withdrawnBecause: string | null;
}

const isDocument = (kind: string): boolean => actNamed('withdraw a document for cause').kinds.includes(kind);

/** Every revision of a document that may be withdrawn, the latest first; undefined for what is none. */
export async function documentStanding(
  store: Store,
  kind: string,
  key: string,
): Promise<RevisionStanding[] | undefined> {
  return isDocument(kind) ? revisionsSigned(store, kind, key) : undefined;
}

/** Every revision of whatever people sign, the latest first. */
export async function revisionsSigned(store: Store, kind: string, key: string): Promise<RevisionStanding[]> {
  const revisions = await store.read.entries.revisions(kind, key);
  const statements = (await store.read.signatures.of({ kind, key })).map(({ signed }) => signed.statement);
  const withdrawals = await store.read.events.of({ kind, key });
  const latest = revisions.at(-1)?.revision;
  return revisions
    .map(({ revision, recordedAt, digest }): RevisionStanding => {
      const withdrawn = withdrawals.find(
        ({ event }) => event.type === 'document-withdrawn' && event.revision === revision,
      );
      return {
        revision,
        recordedAt: timeText(recordedAt),
        signatures: statements.filter((statement) => covers(statement, digest)).map(signedText),
        state: withdrawn ? 'withdrawn for cause' : revision === latest ? 'current' : 'superseded',
        withdrawnBecause: withdrawn ? (withdrawn.reason ?? '') : null,
      };
    })
    .reverse();
}
