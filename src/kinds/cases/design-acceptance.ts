import { z } from 'zod';
import { Code, FilePath, Format, PastMoment, Reason, Sha256, whole } from '../fields.js';
import { defineKind, tie } from '../kind.js';
import { PERSONAL_DATA } from '../lot.js';
import { Outside } from '../references.js';

export const DesignAcceptance = z.strictObject({
  kind: z.literal('design-acceptance'),
  format: Format,
  case: Code,
  iteration: whole(1).describe('design iteration that was accepted'),
  by: Outside.describe('prescriber who accepted it'),
  at: PastMoment,
  model: Sha256.describe('SHA-256 of the model that the prescriber saw'),
  original: FilePath.optional().describe(
    'the signed acceptance, or the message, as received: personal data, kept apart; its path is printed, so name nobody in it',
  ),
  enteredBy: Code.describe('who wrote it down here; somebody else compares it with the original'),
  reason: Reason,
});
export type DesignAcceptance = z.infer<typeof DesignAcceptance>;

export const designAcceptance = defineKind<DesignAcceptance>({
  kind: 'design-acceptance',
  numbering: 'running',
  purpose: 'That the prescriber accepted one iteration of the design, and of which model.',
  schema: DesignAcceptance,
  key: (document) => `${document.case}:${document.iteration}`,
  caseOf: (document) => document.case,
  name: (document) => `iteration ${document.iteration} of ${document.case}, accepted by ${document.by.name}`,
  links: (document) => [
    tie('accepts', 'case-design', document.case, 'case', { revision: document.iteration }),
    tie('entered by', 'person', document.enteredBy, 'enteredBy'),
  ],
  files: ({ original }) => (original === undefined ? [] : [{ path: original, field: 'original', name: PERSONAL_DATA }]),
});
