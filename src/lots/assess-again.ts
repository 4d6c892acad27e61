import { z } from 'zod';
import { assess } from '../assessment/assess.js';
import type { Assessment } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { programName } from '../base/settings.js';
import { canonicalJson } from '../dossier/canonical.js';
import type { Event } from '../ledger/event.js';
import { frozenFacts } from '../store/frozen-facts.js';
import type { Store } from '../store/store.js';
import type { Writer } from '../store/writer.js';

/** What is compared of an assessment that any version may have written. */
const Earlier = z.looseObject({
  version: z.string().catch('unknown'),
  units: z.array(z.looseObject({ serial: z.string(), verdict: z.string(), releasable: z.boolean() })).catch([]),
  checks: z.array(z.looseObject({ code: z.string(), outcome: z.string() })).catch([]),
});
type Earlier = z.infer<typeof Earlier>;

type Changed = Extract<Event, { type: 'verdicts-changed' }>;

/**
 * Assesses the stored lot file of a lot where other rules than those of this program assessed it last, stores that, and
 * records which verdicts changed. Nothing is frozen anew; a second call does nothing.
 */
export async function assessAgain(store: Store, lot: string, actor: string): Promise<void> {
  const last = await store.read.assessments.latest(lot);
  if (last === undefined) return;
  const before = Earlier.parse(JSON.parse(last.body));
  if (before.version === ASSESSMENT_VERSION) return;
  const facts = await frozenFacts(store.read, last.dossierDigest);
  const assessment = assess(facts!, ASSESSMENT_VERSION);
  await store.change(actor, async (writer) => {
    const digest = await writer.recordAssessment(lot, last.dossierDigest, programName(), canonicalJson(assessment));
    const changed = changesBetween(before, assessment);
    if (changed.implants.length === 0) return;
    const event: Changed = {
      type: 'verdicts-changed',
      lot,
      dossier: last.dossierDigest,
      before: { assessment: last.digest, version: before.version },
      after: { assessment: digest, version: ASSESSMENT_VERSION },
      ...changed,
    };
    if (!(await isRecorded(writer, event))) await writer.recordEvent(event);
  });
}

/** Another process may have done the same, and a program that was taken back finds its own assessment there. */
async function isRecorded(writer: Writer, { lot, before, after }: Changed): Promise<boolean> {
  return (await writer.read.events.of({ kind: 'lot', key: lot })).some(
    ({ event }) =>
      event.type === 'verdicts-changed' &&
      event.before.assessment === before.assessment &&
      event.after.assessment === after.assessment,
  );
}

/** Implants with another verdict, or that may be released or not as before; and the checks with another outcome. */
function changesBetween(before: Earlier, after: Assessment): Pick<Changed, 'implants' | 'checks'> {
  const units = new Map(before.units.map((unit) => [unit.serial, unit]));
  const outcomes = new Map(before.checks.map((check) => [check.code, check.outcome]));
  const now = new Map(after.checks.map((check) => [check.code, check.outcome]));
  return {
    implants: after.units.flatMap(({ serial, verdict, releasable }) => {
      const old = units.get(serial);
      if (old?.verdict === verdict && old.releasable === releasable) return [];
      return [
        {
          serial,
          before: { verdict: old?.verdict ?? 'unknown', releasable: old?.releasable ?? false },
          after: { verdict, releasable },
        },
      ];
    }),
    checks: [...new Set([...outcomes.keys(), ...now.keys()])]
      .sort()
      .map((check) => ({ check, before: outcomes.get(check) ?? null, after: now.get(check) ?? null }))
      .filter((check) => check.before !== check.after),
  };
}
