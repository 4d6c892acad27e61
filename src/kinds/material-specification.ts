import { z } from 'zod';
import {
  Approval,
  CertificateType,
  Code,
  Decimal,
  Format,
  MaterialCategory,
  Moment,
  PositiveDecimal,
  Text,
  Ucum,
  whole,
} from './fields.js';
import { type Contradiction, defineKind, originalOf, repeated, reversed, tie } from './kind.js';

/** One property that every delivery must have. */
export const MaterialLine = z.strictObject({
  property: Code.describe('element or property, named as on certificates'),
  ucum: Ucum,
  lower: Decimal.optional(),
  upper: Decimal.optional(),
  from: z
    .enum(['certificate', 'own test'])
    .describe('where the value comes from: the certificate of the maker, or a test of the cell'),
});
export type MaterialLine = z.infer<typeof MaterialLine>;

export const MaterialSpecification = z.strictObject({
  kind: z.literal('material-specification'),
  format: Format,
  material: Code.describe('code of the material, as receipts and consumables name it'),
  revision: whole(1),
  title: Text,
  category: MaterialCategory,
  lines: z
    .array(MaterialLine)
    .min(1)
    .describe('what is asked of each delivery; a line without limits must be there and is for information'),
  sumRange: z
    .strictObject({
      properties: z.array(Code).min(2).describe('properties that are summed, such as all elements'),
      ucum: Ucum,
      lower: Decimal,
      upper: Decimal,
    })
    .optional()
    .describe('what certain lines together must make'),
  certificateTypes: z.array(CertificateType).min(1).optional().describe('types that are accepted; any when absent'),
  reuseLimit: whole(0, 1000).optional().describe('how often powder may go through the machine again'),
  shelfLifeDays: whole(1, 36_500).optional().describe('days from receipt, where the delivery states no earlier expiry'),
  inUseLimit: z
    .strictObject({ uses: whole(1, 1_000_000).optional(), hours: PositiveDecimal.optional() })
    .optional()
    .describe('how long a consumable of it may be used: so many uses, so many hours from the first use, or both'),
  balancePercent: PositiveDecimal.optional().describe(
    'how much of the powder charged may be missing from what was deposited, recovered and wasted (per cent)',
  ),
  skipTest: z
    .strictObject({ every: whole(2, 1000).describe('one of so many deliveries is tested'), basis: Text })
    .optional()
    .describe('tests of the cell are done on some deliveries only, and why that is enough'),
  effectiveFrom: Moment,
  approval: Approval.optional(),
});
export type MaterialSpecification = z.infer<typeof MaterialSpecification>;

function sumFaults({ sumRange, lines }: MaterialSpecification): Contradiction[] {
  if (sumRange === undefined) return [];
  const known = new Set(lines.map(({ property }) => property));
  return [
    ...reversed('sumRange', sumRange),
    ...repeated(sumRange.properties, (index) => `sumRange.properties[${index}]`, 'property'),
    ...sumRange.properties.flatMap((property, index) =>
      known.has(property)
        ? []
        : [
            {
              field: `sumRange.properties[${index}]`,
              found: property,
              expected: 'a property that stands under lines',
              remedy: 'add a line for it, or correct the spelling',
            },
          ],
    ),
  ];
}

function limitFaults({ inUseLimit, skipTest, lines }: MaterialSpecification): Contradiction[] {
  const found: Contradiction[] = [];
  if (inUseLimit && inUseLimit.uses === undefined && inUseLimit.hours === undefined) {
    const expected = 'uses, hours, or both';
    found.push({ field: 'inUseLimit', found: 'no limit', expected, remedy: 'state the limit, or remove the field' });
  }
  if (skipTest && lines.every(({ from }) => from === 'certificate')) {
    found.push({
      field: 'skipTest',
      found: 'tests that may be skipped, and no line from an own test',
      expected: 'a line with from: own test',
      remedy: 'say which line the cell tests itself, or remove the field',
    });
  }
  return found;
}

export const materialSpecification = defineKind<MaterialSpecification>({
  kind: 'material-specification',
  numbering: 'document',
  purpose: 'What is ordered: what each delivery of a material must show, and how long and how often it may be used.',
  schema: MaterialSpecification,
  key: (document) => document.material,
  name: (document) => document.title,
  links: (document) =>
    document.approval ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by')] : [],
  contradictions: (document) => [
    ...repeated(
      document.lines.map(({ property }) => property),
      (index) => `lines[${index}].property`,
      'property',
    ),
    ...document.lines.flatMap((line, index) => reversed(`lines[${index}]`, line)),
    ...repeated(document.certificateTypes ?? [], (index) => `certificateTypes[${index}]`, 'type of certificate'),
    ...sumFaults(document),
    ...limitFaults(document),
  ],
  files: (document) => originalOf(document.approval, 'approval'),
});
