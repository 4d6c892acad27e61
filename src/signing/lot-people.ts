import type { Assessment } from '../assessment/assessment.js';
import type { Facts } from '../dossier/facts.js';
import type { LogPart } from '../dossier/schema.js';
import type { Lot } from '../kinds/lot.js';

/** Codes of the people who performed a build step of a lot: who ran its builds, and who did its later steps. */
export function buildersOf({ lot }: { readonly lot: { readonly body: Lot } }): string[] {
  return distinct([...lot.body.builds.map((build) => build.operator), ...lot.body.steps.map((step) => step.by)]);
}

/** Codes of the people who measured or typed a value of a lot, corrected values included. */
export function testersOf({ results }: Pick<Facts, 'results'>): string[] {
  return distinct(results.flatMap((row) => [row.analyst, row.enteredBy]));
}

/** Identities of everything that people may have decided on in a lot. */
export function findingIdsOf(logParts: Iterable<LogPart>, assessment: Assessment): string[] {
  return distinct([
    ...[...logParts].flatMap((part) => part.findings.map((finding) => finding.id)),
    ...assessment.checks.flatMap((check) => check.findings.map((finding) => finding.id)),
  ]);
}

const distinct = (values: readonly string[]): string[] => [...new Set(values)].filter((value) => value !== '').sort();
