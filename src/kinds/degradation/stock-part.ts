import { z } from 'zod';
import { exactlyOne } from '../contradictions.js';
import { Code, FilePath, Format, PositiveDecimal, Reason, Text, Ucum } from '../fields.js';
import { type Contradiction, defineKind, repeated, tie } from '../kind.js';
import { CertificateLine } from '../receipt.js';

export const StockPart = z.strictObject({
  kind: z.literal('stock-part'),
  format: Format,
  stockPart: Code,
  receipt: Code.optional().describe('receipt that it came with'),
  implant: Code.optional().describe('serial of the implant that it was, where it was made here'),
  material: Code.describe('material as specifications name it'),
  mesh: FilePath.optional().describe('its surface before anything was built on it'),
  lines: z.array(CertificateLine).min(1).optional().describe('lines of its certificate that are of the part itself'),
  interface: z
    .strictObject({
      zone: Code.describe('zone that was built on it'),
      preparation: Text.describe('how the surface was made ready'),
      roughness: z.strictObject({ value: PositiveDecimal, ucum: Ucum }).optional(),
    })
    .describe('where new metal meets it'),
  reason: Reason,
});
export type StockPart = z.infer<typeof StockPart>;

function contradictions({ receipt, implant, lines }: StockPart): Contradiction[] {
  return [
    ...exactlyOne({ receipt, implant }, implant === undefined ? 'receipt' : 'implant'),
    ...repeated(
      (lines ?? []).map(({ property }) => property),
      (index) => `lines[${index}].property`,
      'property',
    ),
  ];
}

export const stockPart = defineKind<StockPart>({
  kind: 'stock-part',
  numbering: 'running',
  purpose: 'A finished part on which new metal is built: what it was, of what, and the surface where both meet.',
  schema: StockPart,
  key: (document) => document.stockPart,
  name: (document) => `${document.material}, from ${document.receipt ?? document.implant ?? ''}`,
  links: ({ receipt, implant }) => [
    ...(receipt === undefined ? [] : [tie('taken from receipt', 'receipt', receipt, 'receipt')]),
    ...(implant === undefined ? [] : [tie('was implant', 'implant', implant, 'implant')]),
  ],
  contradictions,
  files: ({ mesh }) => (mesh === undefined ? [] : [{ path: mesh, field: 'mesh', name: 'scan' }]),
});
