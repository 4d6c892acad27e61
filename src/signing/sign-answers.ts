import { z } from 'zod';
import { RELEASE_STEPS } from '../dossier/release-step.js';
import { Meaning, SignedStatement } from '../dossier/statement.js';
import { reviewLine } from '../report/phrases/review-items.js';
import { summaryLines } from '../report/summary-lines.js';
import type { BeforeSigning } from './before-signing.js';
import { seenText } from './beside.js';
import { thingText } from './thing.js';

/** Shapes of what the API answers of signing. */

export const WaitingAnswer = z.strictObject({
  waiting: z.array(
    z.strictObject({
      thing: z.string().describe('name of the thing, with the digest of what is signed'),
      meaning: Meaning,
      act: z.string(),
      title: z.string(),
      lot: z.string().nullable(),
      neededBy: z.string().nullable(),
      units: z.array(z.string()),
      step: z.enum(RELEASE_STEPS).nullable().describe('what a release would be for'),
      group: z.string().nullable().describe('findings with the same group are decided together'),
      who: z.array(z.string()).describe('codes of the people who may sign it now'),
    }),
  ),
});

export const SignedAnswer = z.strictObject({ signed: SignedStatement });

/** What the sign page shows, for programs: see `beforeSigningAnswer`. */
export const BeforeSigningAnswer = z.strictObject({
  meaning: Meaning,
  step: z.enum(RELEASE_STEPS).nullable().describe('what a release would be for'),
  units: z
    .array(z.strictObject({ serial: z.string(), verdict: z.string(), mayNot: z.string().nullable() }))
    .nullable()
    .describe('of a release or a rejection: the units, each with why it cannot be decided on so'),
  things: z.array(
    z.strictObject({
      thing: z.string().describe('name of the thing, with the digest of what would be signed'),
      title: z.string(),
      lot: z.string().nullable(),
      shows: z.array(z.tuple([z.string(), z.string()])).describe('what is signed: name and value'),
      changes: z.array(z.string()).describe('what differs from what was signed last'),
      mayNot: z.string().nullable().describe('why the person may not sign it now'),
      who: z.array(z.string()).describe('codes of the people who may'),
    }),
  ),
  outOfDate: z.string().nullable().describe('why the lot has to be frozen and assessed again before anybody signs it'),
  summary: z
    .array(z.string())
    .describe('of a lot file: its first page, every exception in words; its digest stands under "seen"'),
  reviewList: z
    .array(z.strictObject({ kind: z.string(), says: z.string(), by: z.string(), at: z.string() }))
    .describe('for a reviewer: what was corrected, refused or entered late'),
  seen: z.string().describe('names what lies beside the things by digests; send it with the signature'),
});

/** @param found of things that are signed together. */
export function beforeSigningAnswer(
  found: readonly BeforeSigning[],
  meaning: Meaning,
): z.infer<typeof BeforeSigningAnswer> {
  const { signable, beside, step, units } = found[0]!;
  return {
    meaning,
    step,
    units: units?.map(({ serial, verdict, why }) => ({ serial, verdict, mayNot: why })) ?? null,
    things: found.map(({ signable: { subject, title, lot, shows }, changes, why, who }) => ({
      thing: thingText(subject),
      title,
      lot,
      shows: shows.map(([name, value]) => [name, value]),
      changes: [...changes],
      mayNot: why,
      who: [...who],
    })),
    // There is one lot file in an act at most.
    outOfDate: signable.outOfDate ?? null,
    summary:
      beside.summary && signable.assessed
        ? summaryLines(beside.summary, signable.assessed.facts).map(({ says }) => says)
        : [],
    reviewList: beside.reviewList.map(reviewLine),
    seen: seenText(beside),
  };
}
