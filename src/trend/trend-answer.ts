import { z } from 'zod';
import { Characteristic } from '../kinds/specification.js';
import { CapabilityAnswer, OfEarlierVersion } from '../lots/lot-answers.js';
import { capabilityInWords } from '../report/assessment-words.js';
import type { TrendReport } from './family-trend.js';

/** What API and command answer of a trend. */

export const TrendAnswer = z.strictObject({
  family: z.string(),
  characteristic: Characteristic,
  capability: CapabilityAnswer.describe('over the builds before the latest lot'),
  latestLot: z.string(),
  ofEarlierVersion: OfEarlierVersion,
  lots: z.array(
    z.strictObject({
      lot: z.string(),
      build: z.string(),
      builtAt: z.string(),
      n: z.int(),
      mean: z.number().nullable(),
      min: z.number().nullable(),
      max: z.number().nullable(),
      censored: z.int().describe('values reported as below or above a bound; they are not in n'),
      takenOut: z.int().describe('values that a signed decision took out; they are not in n'),
    }),
  ),
});

/** With the words on the index beside its codes. */
export const trendAnswer = (report: TrendReport) => ({ ...report, capability: capabilityInWords(report.capability) });
