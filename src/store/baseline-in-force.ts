import { approvalStanding } from '../dossier/approval-standing.js';
import { inForceAt } from '../dossier/lot-baseline.js';
import type { StoredRevision } from './entries.js';
import type { Reads } from './repositories.js';

/** Says which baseline was in force at a moment (ISO); undefined where none was. */
export type BaselineAt = (at: string) => StoredRevision<'baseline'> | undefined;

/** Baselines of a family as people dealt with them, whatever came of them later. */
export async function baselinesInForce(read: Reads, family: string): Promise<BaselineAt> {
  const revisions = await read.entries.revisionsStarting('baseline', `${family}:`);
  if (revisions.length === 0) return () => undefined;
  const signed = await read.signatures.on(revisions.map(({ digest }) => digest));
  const statements = signed.map(({ signed: { statement } }) => statement);
  const withdrawn = new Map(
    (await read.events.ofTypes(['document-withdrawn'])).flatMap(({ event, at }) =>
      event.type === 'document-withdrawn' && event.kind === 'baseline'
        ? [[`${event.key} ${event.revision}`, at] as const]
        : [],
    ),
  );
  const courses = [...revisions]
    .sort((a, b) => a.ledgerSeq - b.ledgerSeq)
    .map((revision) => ({
      revision,
      recordedAt: revision.recordedAt,
      approvedAt: approvalStanding(revision, statements).approvedAt,
      withdrawnAt: withdrawn.get(`${revision.key} ${revision.revision}`) ?? null,
    }));
  return (at) => inForceAt(courses, at)?.revision;
}
