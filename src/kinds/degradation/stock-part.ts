import { z } from 'zod';
import { exactlyOne, needed } from '../contradictions.js';
import {
  Approval,
  Claim,
  Code,
  FilePath,
  Format,
  PastMoment,
  PositiveDecimal,
  Reason,
  Sha256,
  Text,
  Ucum,
} from '../fields.js';
import {
  approvedBy,
  type Contradiction,
  type DigestOf,
  defineKind,
  originalOf,
  repeated,
  type SignablePart,
  tie,
  tooEarly,
} from '../kind.js';
import { CertificateLine } from '../receipt.js';

const TakenOff = z.strictObject({
  implant: Code.describe('serial of the part of which the added metal was taken off again'),
  at: PastMoment,
  by: Code,
  how: Text.describe('how it was taken off, and what shows that nothing of it is left'),
});

export const StockPart = z.strictObject({
  kind: z.literal('stock-part'),
  format: Format,
  stockPart: Code,
  receipt: Code.optional().describe('receipt that it came with'),
  implant: Code.optional().describe('serial of the implant that it was, where it was made here'),
  why: Text.optional().describe('of what was an implant: why new metal is built on it'),
  material: Code.describe('material as specifications name it'),
  mesh: z
    .strictObject({
      file: FilePath,
      ucum: Ucum.describe('unit of its coordinates'),
      sha256: Sha256.optional().describe('digest of the file: found as it comes in, and compared where it is given'),
    })
    .optional()
    .describe('its surface before anything is built on it, in the frame of the model of the design'),
  lines: z.array(CertificateLine).min(1).optional().describe('lines of its certificate that are of the part itself'),
  acceptance: Approval.optional().describe('who accepted it as stock'),
  interface: z
    .strictObject({
      zone: Code.describe('zone that is built on it, as recipes name it'),
      preparation: Text.describe('how the surface is made ready'),
      roughness: z.strictObject({ value: PositiveDecimal, ucum: Ucum }).optional(),
      prepared: z.array(Claim).min(1).optional().describe('who made it ready, and when: each time, in order'),
    })
    .describe('where new metal meets it'),
  takenOff: z
    .array(TakenOff)
    .min(1)
    .optional()
    .describe('metal that was built on it and taken off again: after that it may be built on once more'),
  reason: Reason,
});
export type StockPart = z.infer<typeof StockPart>;

function contradictions({ receipt, implant, why, lines, interface: { prepared = [] }, takenOff = [] }: StockPart) {
  return [
    ...exactlyOne({ receipt, implant }, implant === undefined ? 'receipt' : 'implant'),
    ...(implant === undefined ? [] : needed('why', why, 'it was an implant', 'why new metal is built on it')),
    ...repeated(
      (lines ?? []).map(({ property }) => property),
      (index) => `lines[${index}].property`,
      'property',
    ),
    ...inOrder(
      prepared.map(({ at }) => at),
      (index) => `interface.prepared[${index}].at`,
      'it was made ready before',
    ),
    ...repeated(
      takenOff.map((one) => one.implant),
      (index) => `takenOff[${index}].implant`,
      'part taken off',
    ),
  ];
}

const inOrder = (times: readonly string[], field: (index: number) => string, what: string): Contradiction[] =>
  times.flatMap((time, index) => tooEarly(field(index), time, times[index - 1], what));

/**
 * What was accepted as stock: what it is, what was taken off it, and how its face is to be made ready. That it was made ready
 * grows by itself.
 */
export function stockAcceptancePart(document: StockPart, digestOf: DigestOf): SignablePart {
  const { kind, stockPart: key, receipt, implant, why, material, mesh, lines, takenOff } = document;
  const { zone, preparation, roughness } = document.interface;
  const told = { receipt, implant, why, mesh, lines, takenOff, roughness };
  const given = Object.fromEntries(Object.entries(told).filter(([, value]) => value !== undefined));
  return { kind, key, digest: digestOf({ stockPart: key, material, zone, preparation, ...given }) };
}

export const stockPart = defineKind<StockPart>({
  kind: 'stock-part',
  numbering: 'running',
  purpose:
    'A finished part on which new metal is built: what it was, of what, and the surface where both meet. A machined bar came with a receipt; a part that is repaired was an implant that never left the cell.',
  schema: StockPart,
  key: (document) => document.stockPart,
  name: (document) => `${document.material}, from ${document.receipt ?? document.implant ?? ''}`,
  links: ({ receipt, implant, interface: { prepared = [] }, takenOff = [], acceptance }) => [
    ...(receipt === undefined ? [] : [tie('taken from receipt', 'receipt', receipt, 'receipt', { count: 1 })]),
    ...(implant === undefined ? [] : [tie('was implant', 'implant', implant, 'implant')]),
    ...prepared.map(({ by }, index) => tie('made ready by', 'person', by, `interface.prepared[${index}].by`)),
    ...takenOff.flatMap((one, index) => [
      tie('freed of', 'implant', one.implant, `takenOff[${index}].implant`),
      tie('taken off by', 'person', one.by, `takenOff[${index}].by`),
    ]),
    ...approvedBy(acceptance).map((link) => ({
      ...link,
      field: 'acceptance.by',
      name: 'acceptance claimed by' as const,
    })),
  ],
  signable: (document, digestOf) => [stockAcceptancePart(document, digestOf)],
  contradictions,
  files: ({ mesh, acceptance }) => [
    ...(mesh === undefined ? [] : [{ path: mesh.file, field: 'mesh.file', name: 'model' as const }]),
    ...originalOf(acceptance, 'acceptance'),
  ],
});
