import { signableDigests } from '../dossier/signable.js';
import type { SignedStatement } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import type { StoredRevision } from './entries.js';
import { asPinned } from './gathering.js';
import type { Reads } from './repositories.js';
import type { SharedFacts } from './shared-facts.js';

/** A plan with the signature that approved it, and the place of that in the ledger. */
export interface PlanInForce {
  readonly revision: StoredRevision<'capability-plan'>;
  readonly signed: SignedStatement;
  readonly seq: number;
}

/** When the first build of a lot closed. */
export const firstClosing = (lot: Lot): number => Math.min(...lot.builds.map((build) => Date.parse(build.closedAt)));

/** For each characteristic the plan that was in force when the first build of the lot closed. */
export const plansInForce = (
  read: Pick<Reads, 'signatures' | 'events'>,
  shared: SharedFacts,
  lot: Lot,
): Promise<ReadonlyMap<string, PlanInForce>> => plansInForceAt(read, shared, lot.family, firstClosing(lot));

/**
 * For each characteristic of a family the plan that had taken effect and was approved at a moment, the latest of them. One
 * that was withdrawn is none.
 */
export async function plansInForceAt(
  { signatures, events }: Pick<Reads, 'signatures' | 'events'>,
  shared: SharedFacts,
  family: string,
  moment: number,
): Promise<ReadonlyMap<string, PlanInForce>> {
  const since = ({ body }: StoredRevision<'capability-plan'>) => Date.parse(body.effectiveFrom);
  const candidates = (await shared.capabilityPlans())
    .filter(({ body }) => body.family === family)
    .filter((revision) => since(revision) <= moment)
    .sort((a, b) => since(b) - since(a) || b.revision - a.revision);
  const withdrawn = candidates.length === 0 ? [] : await events.ofTypes(['document-withdrawn']);
  const isWithdrawn = ({ key, revision }: StoredRevision) =>
    withdrawn.some(
      ({ event }) =>
        event.type === 'document-withdrawn' &&
        event.kind === 'capability-plan' &&
        event.key === key &&
        event.revision === revision,
    );
  const found = new Map<string, PlanInForce>();
  for (const revision of candidates) {
    const { characteristic } = revision.body;
    if (found.has(characteristic) || isWithdrawn(revision)) continue;
    const approved = (await signatures.on(signableDigests(asPinned(revision)))).find(
      ({ signed: { statement } }) => statement.meaning === 'approved' && Date.parse(statement.at) <= moment,
    );
    if (approved) found.set(characteristic, { revision, signed: approved.signed, seq: approved.ledgerSeq });
  }
  return found;
}
