import { assess } from '../assessment/assess.js';
import type { Assessment } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { programName } from '../base/settings.js';
import { type Facts, readFacts } from '../dossier/facts.js';
import { assembleDossier, type FrozenDossier, isStillAs } from '../store/assemble-dossier.js';
import type { Change } from '../store/repositories.js';
import type { Store } from '../store/store.js';
import { assessAgainIfItCan, type NotAssessable, recordChanges } from './assess-again.js';
import { historyRows } from './history-rows.js';

/** A frozen lot with what the program says of it. */
export interface AssessedLot {
  readonly facts: Facts;
  readonly dossierText: string;
  readonly dossierSha256: string;
  /** Texts of the parts by SHA-256. */
  readonly parts: ReadonlyMap<string, string>;
  readonly assessment: Assessment;
  readonly assessmentSha256: string;
  /** An earlier version of the rules assessed it, and this one has not yet. */
  readonly ofEarlierVersion: boolean;
}

/** So often the facts are gathered while others may write; then while nobody else can. */
const ATTEMPTS = 3;

/** What is to be stored of a lot. */
type Prepared = Omit<AssessedLot, 'assessmentSha256'> & { readonly frozen: FrozenDossier };

/**
 * Freezes the facts of a lot as they stand, assesses them, and stores both. Unchanged facts store nothing. What others
 * write meanwhile counts only where this lot file rests on it: that belongs to it, and all is gathered again. Where rules
 * of another version assessed the last lot file, these assess that one first: so what the rules changed is told apart from
 * what later facts changed. Where they cannot assess it, what they say now is compared with what was said last.
 * @throws NotFoundError when there is no such lot.
 */
export async function freezeAndAssess(store: Store, lot: string, actor: string): Promise<AssessedLot> {
  await store.read.entries.currentOrThrow('lot', lot);
  const failed = await assessAgainIfItCan(store, lot, actor);
  for (let attempt = 1; attempt <= ATTEMPTS; attempt += 1) {
    const size = await store.read.ledger.size();
    const prepared = await prepare(store, lot);
    const assessmentSha256 = await store.change(actor, async (change) => {
      // Nobody else writes while this change is open, so that the reading side sees what is there.
      if (change.ledger.sizeNow() !== size && !(await isStillAs(store.read, prepared.frozen))) return undefined;
      return record(change, lot, prepared, failed);
    });
    if (assessmentSha256 !== undefined) return { ...prepared, assessmentSha256 };
  }
  return store.change(actor, async (change) => {
    const prepared = await prepare(store, lot);
    return { ...prepared, assessmentSha256: await record(change, lot, prepared, failed) };
  });
}

async function prepare(store: Store, lot: string): Promise<Prepared> {
  const frozen = await assembleDossier(store.read, lot, store.folder.demo);
  const parts = new Map([...frozen.parts].map(([sha256, part]) => [sha256, part.text]));
  const facts = readFacts(frozen.dossier, parts);
  const assessment = assess(facts, ASSESSMENT_VERSION);
  const { body: dossierText, digest: dossierSha256 } = frozen;
  return { frozen, facts, dossierText, dossierSha256, parts, assessment, ofEarlierVersion: false };
}

async function record(
  change: Change,
  lot: string,
  { frozen, facts, assessment }: Prepared,
  failed: NotAssessable | undefined,
): Promise<string> {
  await change.lotFiles.add(lot, frozen.digest, frozen.body, frozen.parts);
  const digest = await change.assessments.add(lot, frozen.digest, programName(), assessment);
  if (failed) {
    const { last, error } = failed;
    await recordChanges(change, { lot, last, dossier: frozen.digest, digest, assessment, notAgain: error.message });
  }
  await change.histories.add(lot, frozen.digest, historyRows(facts));
  return digest;
}
