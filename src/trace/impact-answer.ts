import { z } from 'zod';
import { Verdict } from '../assessment/assessment.js';
import { Sha256 } from '../web/fields.js';

/** Shape of what is answered of an impact, by the command, the page and the API. */

const revision = z.int().nonnegative().describe('revision on record; 0 where something names it, and that is all');

const Named = z.strictObject({ kind: z.string(), title: z.string(), key: z.string(), name: z.string(), revision });

const ImpactResult = z.strictObject({
  lot: z.string().describe('under which it was recorded'),
  specimen: z.string(),
  piece: z.string(),
  characteristic: z.string(),
  replicate: z.string(),
  measuredAt: z.string(),
  instrument: z.string(),
  value: z.string(),
  ucum: z.string(),
  first: Verdict.nullable().describe('as it stands; null where the plan asks nothing of this value'),
  valueAgain: z.string().nullable().describe('as altered; null where the result is left out'),
  again: Verdict.nullable().describe('by the same rules on what was altered'),
  revision,
  margin: z.number().nullable().describe('of the altered value to the nearer limit, in ucum; below zero outside'),
});
export type ImpactResult = z.infer<typeof ImpactResult>;

const ImpactUnit = z.strictObject({
  serial: z.string(),
  revision,
  lot: z.string(),
  first: Verdict,
  again: Verdict,
  flips: z.boolean(),
  scanned: z
    .literal(true)
    .optional()
    .describe('its verdict rests on a scan by this instrument, which would have to be measured again: nobody can say'),
  place: z.string().describe('with a hold that lies on it'),
  holder: z.string(),
});
export type ImpactUnit = z.infer<typeof ImpactUnit>;

export const ImpactAnswer = z.strictObject({
  cause: Named,
  head: z.strictObject({ size: z.int().nonnegative(), root: Sha256 }),
  from: z.string(),
  to: z.string(),
  proposed: z.string().nullable().describe('why this time, where none was asked for'),
  altered: z.string().describe('what was done to the results before they were assessed again'),
  balance: z.string().nullable(),
  units: z.array(ImpactUnit),
  results: z.array(ImpactResult),
  resultsSha256: Sha256.describe('over the digests of the lots, in order'),
  lots: z
    .array(z.strictObject({ lot: z.string(), count: z.int(), sha256: Sha256 }))
    .describe('of each lot the results that were looked at; of an instrument those that name it'),
  notRead: z
    .array(z.strictObject({ lot: z.string(), why: z.string() }))
    .describe('lots that could not be assessed again: their implants count as undecided'),
  builds: z.array(Named),
  powder: z.array(Named),
  claims: z.array(Named).describe('studies, validations and statements of the design that used them'),
  capability: z.array(z.string()).describe('statements of capability in which these lots count'),
  cannotKnow: z.array(z.string()),
});
export type ImpactAnswer = z.infer<typeof ImpactAnswer>;

/** Whether somebody has to look at an implant: its verdict changes, or nobody can say. */
export const isAffected = ({
  units,
  notRead,
}: Pick<ImpactAnswer, 'units' | 'notRead'>): ((serial: string) => boolean) => {
  const unread = new Set(notRead.map(({ lot }) => lot));
  const affected = new Set(
    units.flatMap(({ serial, lot, flips, scanned }) => (flips || scanned || unread.has(lot) ? [serial] : [])),
  );
  return (serial) => affected.has(serial);
};

/** How many lots have results among these. */
export const lotsAmong = (results: readonly Pick<ImpactResult, 'lot'>[]): number =>
  new Set(results.map(({ lot }) => lot)).size;
