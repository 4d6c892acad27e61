import { z } from 'zod';
import { canonicalJson, sha256Hex } from '../../dossier/canonical.js';
import { familyStudy } from './study.js';
import { StudyInput } from './study-input.js';
import { FamilyStudy } from './study-result.js';

/** What was said of the capability of a family at one time: all that it rests on, and what came of it. */
export const CapabilityStatement = z.strictObject({
  format: z.literal(1),
  number: z.int().positive().describe('of the statements of this family and characteristic, from 1'),
  program: z.string(),
  ledger: z.strictObject({ size: z.int(), root: z.string() }).describe('the audit trail as it stood'),
  previous: z.string().nullable().describe('digest of the statement before'),
  rowsSha256: z.string().describe('of the canonical JSON of the rows'),
  input: StudyInput,
  study: FamilyStudy,
});
export type CapabilityStatement = z.infer<typeof CapabilityStatement>;

/** Lots of which values count in a statement. */
export const lotsCounted = ({ study }: Pick<CapabilityStatement, 'study'>): ReadonlySet<string> =>
  new Set(study.listed.flatMap((row) => (row.leftOut === null && row.values + row.bounds > 0 ? [row.lot] : [])));

/** What is beside the study. */
export type Stated = Pick<CapabilityStatement, 'number' | 'program' | 'ledger' | 'previous'>;

export const statementOf = (input: StudyInput, study: FamilyStudy, stated: Stated): CapabilityStatement => ({
  format: 1,
  ...stated,
  rowsSha256: sha256Hex(canonicalJson(input.rows)),
  input,
  study,
});

/** What a statement comes to when it is computed again from what it carries. */
export const statedAgain = ({ input, number, program, ledger, previous }: CapabilityStatement): CapabilityStatement =>
  statementOf(input, familyStudy(input), { number, program, ledger, previous });

/** Whether anything can be stated: an index of all, by whatever distribution, or of each group. */
export const statesAnIndex = ({ index, split }: FamilyStudy): boolean =>
  [index, ...split.map((group) => group.index)].some(({ ppk, percentile }) => ppk !== null || percentile !== null);
