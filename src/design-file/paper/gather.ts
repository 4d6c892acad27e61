import { asMembers, membersOf } from '../../design-history/baselines.js';
import type { DesignFacts, DesignRevision } from '../../design-history/design-facts.js';
import { DesignIndex } from '../../design-history/design-index.js';
import { isDraft } from '../../design-history/draft.js';
import { findGaps, openGaps } from '../../design-history/find-gaps.js';
import { canonicalJson } from '../../dossier/canonical.js';
import type { Reads } from '../../store/repositories.js';
import type { Store } from '../../store/store.js';
import type { AsOf } from '../as-of.js';
import { lotsMade } from '../lots-made.js';
import { carriedEvidence } from './carried-evidence.js';
import { type CarriedEvidence, contentOf, foundIn } from './content.js';

/** The design as its file tells it, and on what of the audit trail it rests. Data, which goes to another thread and back. */
export interface GatheredDesign {
  /** `DesignContent` as canonical JSON. */
  readonly designText: string;
  /** Files that documents name, with why some are not carried. */
  readonly evidence: readonly CarriedEvidence[];
  /** Places in the ledger of all that it tells, and of the receipt of its files. */
  readonly entries: readonly number[];
  /** Of its revisions: whatever is signed. */
  readonly digests: readonly string[];
  readonly draft: boolean;
  /** Gaps that are open. */
  readonly open: number;
}

/** Walks rules and claims of a design once, and lays together what its file carries. */
export async function gatherDesign(store: Store, facts: DesignFacts, asOf: AsOf): Promise<GatheredDesign> {
  const { read } = store;
  const design = new DesignIndex(facts);
  const evidence = await carriedEvidence(store, await read.entries.evidenceNamedBy(asMembers(membersOf(design))));
  const head = { entries: asOf.size, root: await read.ledger.root(asOf.size) };
  const gaps = findGaps(facts, design);
  const made = await lotsMade(read, design, asOf);
  return {
    designText: canonicalJson(contentOf(design, foundIn(design, gaps), head, made, evidence)),
    evidence,
    entries: [...(await entriesOf(read, facts)), ...(await entriesOfFiles(read, evidence))],
    digests: facts.revisions.map(({ digest }) => digest),
    draft: isDraft(design, gaps),
    open: openGaps(gaps).length,
  };
}

/** Places in the ledger of revisions and exposures of a design, and of what withdrew some of them. */
async function entriesOf({ entries, events }: Reads, { revisions, lots }: DesignFacts): Promise<number[]> {
  const exposures = [...lots.values()].flatMap(({ exposed }) => exposed?.exposures ?? []);
  const all = [...revisions, ...exposures.map((one) => ({ ...one, kind: 'exposure', withdrawn: false }))];
  const shown = new Map(all.map((one) => [revisionText(one), one]));
  const names = new Map(all.map(({ kind, key }) => [`${kind} ${key}`, [kind, key] as const]));
  const recorded = (await entries.revisionsOf([...names.values()])).filter((one) => shown.has(revisionText(one)));
  const withdrawals = (await events.ofTypes(['document-withdrawn'])).filter(
    ({ event }) => event.type === 'document-withdrawn' && shown.get(revisionText(event))?.withdrawn === true,
  );
  return [...recorded, ...withdrawals].map(({ ledgerSeq }) => ledgerSeq);
}

/** Places in the ledger of the receipt of these files, and of what removed some of them. */
async function entriesOfFiles({ evidence, events }: Reads, listed: readonly CarriedEvidence[]): Promise<number[]> {
  const entries = await evidence.entriesOf([...new Set(listed.map(({ sha256 }) => sha256))]);
  const removed = new Set(listed.flatMap(({ sha256, why }) => (why === 'removed' ? [sha256] : [])));
  for (const key of removed) {
    const removals = (await events.of({ kind: 'evidence', key })).filter(
      ({ event }) => event.type === 'evidence-redacted',
    );
    entries.push(...removals.map(({ ledgerSeq }) => ledgerSeq));
  }
  return entries;
}

const revisionText = ({ kind, key, revision }: Pick<DesignRevision, 'kind' | 'key' | 'revision'>): string =>
  `${kind} ${key} ${revision}`;
