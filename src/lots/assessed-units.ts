import { z } from 'zod';
import { CheckResult, UnitResult } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import type { Reads } from '../store/repositories.js';

/** What is said of the implants of a lot. In a form of earlier versions that this one does not read it is nothing. */
export interface AssessedUnits {
  readonly dossierDigest: string;
  /** Of the rules that assessed. */
  readonly version: string;
  readonly units: readonly UnitResult[];
  /** Those that have findings. */
  readonly checks: readonly Pick<CheckResult, 'code' | 'findings'>[];
}

const SaidOfUnits = z.strictObject({
  units: z.array(UnitResult),
  checks: z.array(CheckResult.pick({ code: true, findings: true })),
});

/** Whether other rules than those of this program came to it. */
export const isOfEarlierVersion = ({ version }: { readonly version: string }): boolean =>
  version !== ASSESSMENT_VERSION;

/** What is said of the units of each lot, or of one, asked once for all of them. */
export async function assessedUnits(read: Reads, lot?: string): Promise<ReadonlyMap<string, AssessedUnits>> {
  const stored = await read.assessments.units(ASSESSMENT_VERSION, lot);
  return new Map(
    [...stored].map(([code, { dossierDigest, version, units, checks }]) => {
      const { data = { units: [], checks: [] } } = SaidOfUnits.safeParse({ units, checks });
      return [code, { dossierDigest, version, ...data }];
    }),
  );
}
