import { z } from 'zod';
import { asMembers, baselinesOf, compareMembers, membersOf } from '../design-history/baselines.js';
import { CHANGE_STATES, changeStanding } from '../design-history/change-state.js';
import { CLAIM_ANSWERS, computedClaims, UNDECIDED } from '../design-history/claims.js';
import { type DesignFacts, refText } from '../design-history/design-facts.js';
import { DesignIndex } from '../design-history/design-index.js';
import { deviceFile } from '../design-history/device-file.js';
import { findGaps, GAP_STATES, type Gap, openGaps } from '../design-history/find-gaps.js';
import { GAP_CODES } from '../design-history/gaps/gap-code.js';
import { traceBack } from '../design-history/trace-back.js';
import { MATRIX_COLUMNS, traceMatrix } from '../design-history/trace-matrix.js';
import { CLAIM_METHODS } from '../kinds/design-history/study-criterion.js';
import { EntryRef } from '../kinds/references.js';
import { DESIGN_CLAIMS } from '../report/phrases/design-claims.js';
import { GAP_PHRASES, GAP_STATE_WORDS } from '../report/phrases/gaps/catalogue.js';
import type { LotMade } from './lots-made.js';

/** What command, API and pages answer on the design history of a family. */

const GapAnswered = z.strictObject({
  id: z.string().describe('identity, which an answer names'),
  rule: z.enum(GAP_CODES),
  title: z.string(),
  says: z.string(),
  remedy: z.string(),
  clause: z.string(),
  subjects: z.array(EntryRef).min(1).describe('the entry first that has to be mended'),
  detail: z.string().nullable().describe('what of it, where one entry can lack the same thing more than once'),
  facts: z.record(z.string(), z.string()),
  by: z.string().nullable().describe('day on which it is due or ends'),
  owners: z.array(z.string()).describe('codes of people'),
  state: z.enum(GAP_STATES),
  stateSays: z.string(),
  answer: z.strictObject({ justification: z.string(), until: z.string().nullable(), by: z.string() }).nullable(),
});
export type GapAnswered = z.infer<typeof GapAnswered>;

const Codes = z.array(z.string());

const MemberAnswered = EntryRef.extend({ revision: z.int(), digest: z.string() });

export const DesignAnswer = z.strictObject({
  family: z.string(),
  asOf: z.string().describe('day on which it was asked'),
  open: z.int().describe('gaps that nobody has closed or answered'),
  gaps: z.array(GapAnswered),
  matrix: z.array(
    z.strictObject({
      need: z.string().nullable(),
      input: z.string().nullable(),
      output: z.string().nullable(),
      verifiedBy: Codes.describe('design studies'),
      validatedBy: Codes.describe('design studies'),
      controls: Codes.describe('risk controls'),
    }),
  ),
  back: z
    .array(
      z.strictObject({
        study: z.string(),
        result: z.enum(['met', 'not met', 'open']),
        outputs: Codes,
        inputs: Codes.describe('verified by it, or answered by its outputs'),
        needs: Codes.describe('validated by it, or served by its inputs'),
        controls: Codes.describe('risk controls that it shows to work'),
        lots: Codes.describe('lots on which it rests'),
      }),
    )
    .describe('the same from its other end: each study'),
  claims: z
    .array(
      z.strictObject({
        study: z.string(),
        characteristic: z.string(),
        method: z.enum(CLAIM_METHODS),
        answer: z.enum(CLAIM_ANSWERS),
        why: z.enum(UNDECIDED).nullable(),
        says: z.string(),
        from: z.string(),
        lots: Codes,
        values: z.int().describe('or exposures, on which it rests'),
        numbers: z.record(z.string(), z.number()),
      }),
    )
    .describe('what comes of the values on record for the criterion of each study that has a result'),
  names: z.record(z.string(), z.string()).describe('what each entry of the ways is called, by its kind and code'),
  changes: z.array(
    z.strictObject({
      change: z.string(),
      title: z.string(),
      revision: z.int(),
      state: z.enum(CHANGE_STATES),
      lines: z.int().describe('of what it touches, as frozen'),
      answered: z.int(),
    }),
  ),
  members: z.array(MemberAnswered).describe('what the design consisted of then, each document in its revision'),
  baselines: z.array(
    z.strictObject({
      name: z.string(),
      entries: z.int().describe('of the audit trail, of which it tells'),
      members: z.int(),
      approvedBy: z.string().nullable(),
      approvedAt: z.string().nullable(),
      isSame: z.boolean().describe('whether the design was then as this one froze it'),
    }),
  ),
  lots: z.array(
    z.strictObject({
      lot: z.string(),
      builtAt: z.string().nullable(),
      implants: z.int(),
      state: z.string(),
      lotFileSha256: z.string().nullable(),
      baseline: z.string().nullable().describe('in force when it was built'),
    }),
  ),
});
export type DesignAnswer = z.infer<typeof DesignAnswer>;

/** What the shop floor works by. */
export const DeviceFileAnswer = z.strictObject({
  family: z.string(),
  asOf: z.string(),
  documents: z.array(
    MemberAnswered.extend({
      name: z.string(),
      approvedBy: z.string().nullable(),
      approvedAt: z.string().nullable(),
    }),
  ),
});
export type DeviceFileAnswer = z.infer<typeof DeviceFileAnswer>;

export const deviceFileAnswer = (facts: DesignFacts): DeviceFileAnswer => ({
  ...{ family: facts.family, asOf: facts.today },
  documents: deviceFile(new DesignIndex(facts)).map(
    ({ kind, key, revision, digest, name, approvedBy, approvedAt }) => ({
      ...{ kind, key, revision, digest, name, approvedBy, approvedAt },
    }),
  ),
});

export function designAnswer(facts: DesignFacts, lots: readonly LotMade[]): DesignAnswer {
  const design = new DesignIndex(facts);
  const gaps = findGaps(facts, design);
  const members = asMembers(membersOf(design));
  return {
    family: facts.family,
    asOf: facts.today,
    open: openGaps(gaps).length,
    gaps: gaps.map(gapInWords),
    matrix: traceMatrix(design) as DesignAnswer['matrix'],
    back: traceBack(design) as DesignAnswer['back'],
    claims: computedClaims(design).map((claim) => {
      const { study, characteristic, method, answer, why, lots, values, losses, numbers } = claim;
      return {
        ...{ study, characteristic, method, answer, why, lots: [...lots], numbers: { ...numbers } },
        ...{ values: values.length + losses.length, says: DESIGN_CLAIMS.says(claim), from: DESIGN_CLAIMS.from(claim) },
      };
    }),
    names: namesIn(design),
    changes: design.current('design-change').map((one) => ({
      ...{ change: one.key, title: one.body.title, revision: one.revision, ...changeStanding(one) },
    })),
    members,
    baselines: baselinesOf(design).map(({ body, approvedBy, approvedAt }) => {
      const { added, removed, revised } = compareMembers(body.members, members);
      return {
        ...{ name: body.name, entries: body.asOf.entries, members: body.members.length, approvedBy, approvedAt },
        isSame: added.length + removed.length + revised.length === 0,
      };
    }),
    lots: [...lots],
  };
}

/** Kinds whose codes stand in the ways from need to test. */
const ON_THE_WAY = new Set(MATRIX_COLUMNS.map(([, kind]) => kind));

const namesIn = (design: DesignIndex): Record<string, string> =>
  Object.fromEntries(
    [...ON_THE_WAY].flatMap((kind) => design.current(kind)).map((one) => [refText(one), one.name] as const),
  );

export function gapInWords(gap: Gap): GapAnswered {
  const { title, says, remedy } = GAP_PHRASES[gap.rule];
  return {
    ...gap,
    ...{ title, says: says(gap.facts), remedy, stateSays: GAP_STATE_WORDS[gap.state] },
    subjects: [...gap.subjects],
    facts: { ...gap.facts },
    owners: [...gap.owners],
  };
}
