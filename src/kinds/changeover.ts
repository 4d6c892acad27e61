import { z } from 'zod';
import { Code, Format, Outcome, PastMoment, PositiveDecimal, Reason, Text } from './fields.js';
import { defineKind, ownChecker, repeated, tie } from './kind.js';

export const Changeover = z.strictObject({
  kind: z.literal('changeover'),
  format: Format,
  changeover: Code,
  machine: Code,
  fromAlloy: Text.describe('alloy that ran before, as families name it'),
  toAlloy: Text.describe('alloy that runs next'),
  at: PastMoment.describe('when it was finished'),
  by: Code,
  purge: z
    .strictObject({
      massG: PositiveDecimal.describe('powder of the next alloy that was run through (grams)'),
      intoState: Code.optional().describe('powder state that took it up, where it was kept'),
    })
    .optional(),
  cleaned: z.array(Text).min(1).describe('what was cleaned: hopper, feed line, nozzle, chamber, filter'),
  verified: z
    .strictObject({
      what: Text.describe('how it was seen that nothing of the other alloy was left'),
      result: Outcome,
      by: Code.describe('another person than the one who did it'),
    })
    .describe('the look afterwards'),
  reason: Reason,
});
export type Changeover = z.infer<typeof Changeover>;

export const changeover = defineKind<Changeover>({
  kind: 'changeover',
  numbering: 'running',
  purpose: 'A machine made ready for another alloy: what was purged and cleaned, and who saw that nothing was left.',
  schema: Changeover,
  key: (document) => document.changeover,
  name: (document) => `${document.machine} from ${document.fromAlloy} to ${document.toAlloy}`,
  links: (document) => [
    tie('on machine', 'machine', document.machine, 'machine'),
    tie('worked on by', 'person', document.by, 'by'),
    tie('verified by', 'person', document.verified.by, 'verified.by'),
    ...(document.purge?.intoState === undefined
      ? []
      : [tie('purged into', 'powder-state', document.purge.intoState, 'purge.intoState', { aside: true })]),
  ],
  contradictions: (document) => [
    ...(document.fromAlloy === document.toAlloy
      ? [
          {
            field: 'toAlloy',
            found: document.toAlloy,
            expected: 'another alloy than the one that ran before',
            remedy: 'correct one of the two; the same alloy again needs no changeover',
          },
        ]
      : []),
    ...ownChecker('verified.by', document.verified.by, document.by),
    ...repeated(document.cleaned, (index) => `cleaned[${index}]`, 'cleaned part'),
  ],
});
