import { z } from 'zod';
import { StudyInput } from '../assessment/family/study-input.js';
import { FamilyStudy } from '../assessment/family/study-result.js';
import { Characteristic } from '../kinds/specification.js';
import type { Studied } from '../lots/family-studies.js';
import { CapabilityAnswer, OfEarlierVersion } from '../lots/lot-answers.js';
import { capabilityInWords } from '../report/assessment-words.js';
import { ableText } from '../report/phrases/able.js';
import { studyNotes } from '../report/phrases/family-study.js';
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
  study: z
    .strictObject({
      window: StudyInput.shape.window,
      plan: z.strictObject({ plan: z.string(), revision: z.int(), approvedAt: z.string(), approvedBy: z.string() }),
      says: z.string().describe('what the family is able to, in words'),
      notesSay: z.array(z.string()),
      ...FamilyStudy.shape,
    })
    .nullable()
    .describe('under the signed plan that is in force now; null without one'),
});

/** With the words on the index beside its codes. */
export const trendAnswer = ({ studied, ...report }: TrendReport) => ({
  ...report,
  capability: capabilityInWords(report.capability),
  study: studied && studyAnswer(studied),
});

function studyAnswer({ input, study }: Studied) {
  const { plan, revision } = input.plan;
  return {
    window: input.window,
    plan: { plan, revision, approvedAt: input.approval.at, approvedBy: input.approval.code },
    says: ableText(study.index),
    notesSay: studyNotes(study),
    ...study,
  };
}
