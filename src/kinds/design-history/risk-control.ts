import { z } from 'zod';
import { Approval, Code, DesignStudyRef, Format, Text, whole } from '../fields.js';
import { defineKind, originalOf, repeated, tie } from '../kind.js';
import { ASIDE, headTies } from './design-ties.js';

export const RiskControl = z.strictObject({
  kind: z.literal('risk-control'),
  format: Format,
  control: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  by: z.enum(['design', 'protective measure', 'information']).describe('in the order in which ISO 14971 prefers them'),
  text: Text.describe('what it does'),
  characteristic: Code.optional().describe('characteristic of specifications that carries it'),
  controls: z.array(z.strictObject({ hazard: Code, revision: whole(1) })).min(1),
  verifiedBy: z.array(DesignStudyRef).min(1).optional().describe('studies that show that it works'),
  approval: Approval.optional(),
});
export type RiskControl = z.infer<typeof RiskControl>;

export const riskControl = defineKind<RiskControl>({
  kind: 'risk-control',
  numbering: 'document',
  purpose: 'What is done against a hazard, and which studies show that it works (ISO 14971).',
  schema: RiskControl,
  key: (document) => document.control,
  name: (document) => document.title,
  links: (document) => [
    ...headTies(document),
    ...document.controls.map(({ hazard, revision }, index) =>
      tie('controls', 'hazard', hazard, `controls[${index}]`, { revision, ...ASIDE }),
    ),
    ...(document.verifiedBy ?? []).map(({ designStudy, revision }, index) =>
      tie('shown by', 'design-study', designStudy, `verifiedBy[${index}]`, { revision, ...ASIDE }),
    ),
  ],
  contradictions: ({ controls, verifiedBy = [] }) => [
    ...repeated(
      controls.map(({ hazard }) => hazard),
      (index) => `controls[${index}].hazard`,
      'hazard',
    ),
    ...repeated(
      verifiedBy.map(({ designStudy }) => designStudy),
      (index) => `verifiedBy[${index}].designStudy`,
      'study',
    ),
  ],
  files: (document) => originalOf(document.approval, 'approval'),
});
