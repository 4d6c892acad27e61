import { z } from 'zod';
import { Approval, FilePath, Format, PastDay, Text, whole } from './fields.js';
import { type Contradiction, defineKind, originalOf, tie } from './kind.js';

const Need = z.strictObject({
  need: Text.describe('what the cell uses the program for'),
  risk: z
    .enum(['high', 'not high'])
    .describe('high when a failure could foreseeably compromise safety and no qualified person would notice'),
  assuredBy: Text.describe('tests and checks that show that it is met, and what a person checks besides'),
});

const KnownIssue = z.strictObject({ issue: Text, workaround: Text });

export const ProgramVersion = z.strictObject({
  kind: z.literal('program-version'),
  format: Format,
  version: z
    .string()
    .regex(/^\d+\.\d+\.\d+$/, { error: 'a version such as 0.1.0, as lotwright --version prints it' })
    .describe('as "lotwright --version" prints it'),
  build: z
    .string()
    .regex(/^[0-9a-f]{12}$/, { error: 'the twelve digits behind "build" in lotwright --version' })
    .describe('the twelve digits behind "build" in "lotwright --version"'),
  revision: whole(1),
  intendedUse: Text.describe('what this cell uses the program for, and what not'),
  environment: Text.describe('machine, system, Node, where the data folder and its backups lie'),
  needs: z.array(Need).min(1),
  checkedOn: PastDay,
  selfCheck: FilePath.describe('report of "lotwright self-check --out", kept as evidence'),
  reports: z.array(FilePath).default([]).describe('further evidence: own tests, a restore that was tried, a review'),
  issues: z.array(KnownIssue).default([]).describe('known issues, and how the cell lives with them'),
  conclusion: z.enum(['accepted', 'accepted with limits', 'not accepted']),
  limits: Text.optional().describe('what it must not be used for; needed with "accepted with limits"'),
  approval: Approval.optional(),
});
export type ProgramVersion = z.infer<typeof ProgramVersion>;

export const programKey = (version: string, build: string): string => `${version}-${build}`;

function contradictions({ conclusion, limits }: ProgramVersion): Contradiction[] {
  if (conclusion !== 'accepted with limits' || limits !== undefined) return [];
  return [{ field: 'limits', found: 'nothing', expected: 'what it must not be used for', remedy: 'say which limits' }];
}

export const programVersion = defineKind<ProgramVersion>({
  kind: 'program-version',
  numbering: 'document',
  purpose:
    'The acceptance of one version of this program by the cell that uses it, before use and after each change (ISO 13485 4.1.6).',
  schema: ProgramVersion,
  key: ({ version, build }) => programKey(version, build),
  name: ({ version, build, conclusion }) => `Lotwright ${version} (build ${build}): ${conclusion}`,
  links: ({ approval }) => (approval ? [tie('approval claimed by', 'person', approval.by, 'approval.by')] : []),
  contradictions,
  files: ({ selfCheck, reports, approval }) => [
    { path: selfCheck, field: 'selfCheck', name: 'report' },
    ...reports.map((path, index) => ({ path, field: `reports[${index}]`, name: 'report' as const })),
    ...originalOf(approval, 'approval'),
  ],
});
