import { z } from 'zod';
import {
  Code,
  Coupons,
  Day,
  Decimal,
  FilePath,
  Format,
  Implants,
  LoadStep,
  Outcome,
  PastMoment,
  Reason,
  Text,
  Ucum,
  whole,
} from './fields.js';
import { type Contradiction, defineKind, repeated, reversed, tie, tooEarly } from './kind.js';
import { partFaults, partLinks } from './parts.js';

const CycleValue = z.strictObject({
  parameter: Text.describe('what was measured or set, such as dose, temperature, exposure time'),
  value: Decimal,
  ucum: Ucum,
  min: Decimal.optional().describe('least value that the validated cycle allows'),
  max: Decimal.optional().describe('greatest value that the validated cycle allows'),
});

export const ProcessLoad = z.strictObject({
  kind: z.literal('process-load'),
  format: Format,
  load: Code,
  step: LoadStep,
  equipment: Code.optional().describe('machine of the cell in which it ran'),
  contractor: Code.optional().describe('supplier that ran it, where it was done elsewhere'),
  startedAt: PastMoment.optional(),
  at: PastMoment.describe('when it was finished'),
  by: Code.describe('who ran it, or sent it to the contractor'),
  cycle: z.array(CycleValue).min(1).describe('what the cycle was'),
  indicators: z
    .array(z.strictObject({ what: Text.describe('indicator and where it lay'), result: Outcome }))
    .optional(),
  consumables: z
    .array(z.strictObject({ consumable: Code, uses: whole(1, 1_000_000).optional().describe('uses; one when absent') }))
    .optional()
    .describe('baths, packs, coating material, gas bottles that were used'),
  implants: Implants.optional(),
  coupons: Coupons.optional(),
  expiry: Day.optional().describe('until when what came out of it may be used'),
  report: FilePath.optional().describe('record of the cycle, or certificate of the contractor'),
  reason: Reason,
});
export type ProcessLoad = z.infer<typeof ProcessLoad>;

/** It ran in one place, in the cell or elsewhere. */
function placeFault({ equipment, contractor }: ProcessLoad): Contradiction[] {
  if ((equipment === undefined) !== (contractor === undefined)) return [];
  return [
    {
      field: 'equipment',
      found:
        equipment === undefined ? 'neither equipment nor contractor' : `${equipment}, and contractor ${contractor}`,
      expected: 'one of the two',
      remedy: 'name the machine of the cell, or the supplier that ran it',
    },
  ];
}

export const processLoad = defineKind<ProcessLoad>({
  kind: 'process-load',
  numbering: 'running',
  purpose:
    'What was cleaned, treated, coated, packed or sterilised together, of whatever lots, with the cycle as it ran.',
  schema: ProcessLoad,
  key: (document) => document.load,
  name: (document) => `${document.step}, ${document.equipment ?? document.contractor}`,
  links: (document) => [
    ...partLinks('treated', document),
    ...(document.equipment === undefined ? [] : [tie('on machine', 'machine', document.equipment, 'equipment')]),
    ...(document.contractor === undefined
      ? []
      : [tie('done by supplier', 'supplier', document.contractor, 'contractor')]),
    ...(document.consumables ?? []).map(({ consumable, uses = 1 }, index) =>
      tie('with consumable', 'consumable', consumable, `consumables[${index}].consumable`, { count: uses }),
    ),
    tie('run by', 'person', document.by, 'by'),
  ],
  contradictions: (document) => [
    ...placeFault(document),
    ...partFaults(document),
    ...tooEarly('at', document.at, document.startedAt, 'it began'),
    ...tooEarly('expiry', document.expiry, document.at, 'it was finished'),
    ...document.cycle.flatMap(({ min, max }, index) => reversed(`cycle[${index}]`, { lower: min, upper: max })),
    ...repeated(
      document.cycle.map(({ parameter }) => parameter),
      (index) => `cycle[${index}].parameter`,
      'parameter',
    ),
    ...repeated(
      (document.consumables ?? []).map(({ consumable }) => consumable),
      (index) => `consumables[${index}].consumable`,
      'consumable',
    ),
  ],
  files: ({ report }) => (report === undefined ? [] : [{ path: report, field: 'report', name: 'report' }]),
});
