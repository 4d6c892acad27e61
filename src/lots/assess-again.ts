import { assess } from '../assessment/assess.js';
import type { Assessment } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { programName } from '../base/settings.js';
import { canonicalJson } from '../dossier/canonical.js';
import { frozenFacts } from '../store/frozen-facts.js';
import type { Change } from '../store/repositories.js';
import type { Store } from '../store/store.js';
import { changesBetween, type LastSaid, lastChange, lastSaid, type VerdictsChanged } from './earlier-assessment.js';

/** A lot file that these rules cannot assess: what was said of it last, and what is wrong. */
export interface NotAssessable {
  readonly last: LastSaid;
  readonly error: Error;
}

/**
 * Assesses the stored lot file of a lot where other rules than those of this program spoke of it last, stores that, and
 * records which verdicts changed. Nothing is frozen anew; a second call does nothing.
 * @throws what reading the lot file or a check of it throws.
 */
export async function assessAgain(store: Store, lot: string, actor: string): Promise<void> {
  const failed = await assessAgainIfItCan(store, lot, actor);
  if (failed) throw failed.error;
}

/** The same for whoever freezes the lot anew: the lot file that these rules cannot assess is then told, and stops nothing. */
export async function assessAgainIfItCan(store: Store, lot: string, actor: string): Promise<NotAssessable | undefined> {
  const last = await lastSaid(store.read, lot);
  if (last === undefined || last.said.version === ASSESSMENT_VERSION) return undefined;
  let assessment: Assessment;
  try {
    const facts = await frozenFacts(store.read, last.dossier);
    assessment = assess(facts!, ASSESSMENT_VERSION);
  } catch (error) {
    return { last, error: error as Error };
  }
  await store.change(actor, async (change) => {
    const digest = await change.assessments.add(lot, last.dossier, programName(), assessment);
    await recordChanges(change, { lot, last, dossier: last.dossier, digest, assessment });
  });
  return undefined;
}

interface SaidNow {
  readonly lot: string;
  readonly last: LastSaid;
  /** The lot file that is assessed now. */
  readonly dossier: string;
  /** Of the assessment. */
  readonly digest: string;
  readonly assessment: Assessment;
  /** Why the lot file of which was spoken last could not be assessed. */
  readonly notAgain?: string;
}

/** Records what these rules say otherwise than what was said last; nothing when they say the same. */
export async function recordChanges(change: Change, now: SaidNow): Promise<void> {
  const { lot, last, dossier, digest, assessment, notAgain } = now;
  const changed = changesBetween(last.said, assessment);
  if (changed.implants.length === 0) return;
  const event: VerdictsChanged = {
    type: 'verdicts-changed',
    lot,
    dossier,
    before: { assessment: last.assessment, version: last.said.version },
    after: { assessment: digest, version: ASSESSMENT_VERSION },
    ...(notAgain === undefined ? {} : { notAgain: { dossier: last.dossier, why: notAgain } }),
    ...changed,
  };
  // Another process may have done the same meanwhile.
  const recorded = (await lastChange(change, lot))?.event;
  if (recorded === undefined || canonicalJson(recorded) !== canonicalJson(event)) await change.events.add(event);
}
