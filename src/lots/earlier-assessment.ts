import { z } from 'zod';
import type { Assessment } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import type { Event } from '../ledger/event.js';
import type { Reads } from '../store/repositories.js';

/** What is compared of an assessment that any version may have written. */
const EarlierAssessment = z.looseObject({
  version: z.string().catch('unknown'),
  units: z.array(z.looseObject({ serial: z.string(), verdict: z.string(), releasable: z.boolean() })).catch([]),
  checks: z.array(z.looseObject({ code: z.string(), outcome: z.string() })).catch([]),
});
export type EarlierAssessment = z.infer<typeof EarlierAssessment>;

/** @param body of a stored assessment. */
export const readEarlier = (body: string): EarlierAssessment => EarlierAssessment.parse(JSON.parse(body));

export type VerdictsChanged = Extract<Event, { type: 'verdicts-changed' }>;

/** What was said of a lot last, and of which lot file. */
export interface LastSaid {
  readonly dossier: string;
  readonly assessment: string;
  readonly said: EarlierAssessment;
}

/**
 * The later of the newest stored assessment and the last recorded change: a program that was taken back came to what it
 * had stored before, which gives no new row, and only the change tells that it was asked again.
 * @returns undefined for a lot that was not assessed.
 */
export async function lastSaid(read: Reads, lot: string): Promise<LastSaid | undefined> {
  const row = await read.assessments.latest(lot);
  if (row === undefined) return undefined;
  const change = await lastChange(read, lot);
  const later = change && change.ledgerSeq > row.ledgerSeq ? change.event : undefined;
  const changedTo = later && (await read.assessments.byDigest(later.after.assessment));
  const { dossierDigest: dossier, digest: assessment, body } = changedTo ?? row;
  return { dossier, assessment, said: readEarlier(body) };
}

/** Lots of which rules of another version spoke last, those first that somebody works on. */
export async function lotsToAssessAgain(read: Reads): Promise<string[]> {
  const found = new Set(await read.assessments.lotsLastAssessedByOthers(ASSESSMENT_VERSION));
  for (const { event } of await read.events.ofTypes(['verdicts-changed'])) {
    if (event.type !== 'verdicts-changed' || found.has(event.lot)) continue;
    if ((await lastSaid(read, event.lot))?.said.version !== ASSESSMENT_VERSION) found.add(event.lot);
  }
  return [...found];
}

/** The change of verdicts of a lot that was recorded last. */
export async function lastChange(
  read: Reads,
  lot: string,
): Promise<{ readonly event: VerdictsChanged; readonly ledgerSeq: number } | undefined> {
  return (await read.events.of({ kind: 'lot', key: lot }))
    .flatMap(({ event, ledgerSeq }) => (event.type === 'verdicts-changed' ? [{ event, ledgerSeq }] : []))
    .at(-1);
}

/** Implants with another verdict, or that may be released or not as before; and the checks with another outcome. */
export function changesBetween(
  before: EarlierAssessment,
  after: Pick<Assessment, 'units' | 'checks'>,
): Pick<VerdictsChanged, 'implants' | 'checks'> {
  const units = new Map(before.units.map((unit) => [unit.serial, unit]));
  const outcomes = new Map(before.checks.map((check) => [check.code, check.outcome]));
  const now = new Map<string, string>(after.checks.map((check) => [check.code, check.outcome]));
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
