import { z } from 'zod';
import { checkDigit } from '../base/element-strings/check-characters.js';
import {
  Approval,
  Code,
  Day,
  Format,
  Law,
  LegalRoute,
  Moment,
  PartLeft,
  PositiveDecimal,
  Text,
  whole,
} from './fields.js';
import { type Contradiction, defineKind, originalOf, repeated, tie } from './kind.js';
import { typeToCount } from './route-rules.js';

/** What labels and statements say of the maker. */
const Manufacturer = z.strictObject({
  name: Text,
  address: Text,
  sites: z.array(Text).default([]).describe('name and address of every place where units are made'),
  representative: Text.optional().describe('authorised representative in the Union, with address, where there is one'),
  website: Text.optional(),
  responsiblePerson: Text.optional().describe(
    'who ensures that conformity is checked before release (Regulation (EU) 2017/745 article 15), or the delegation',
  ),
});

/** Which part carries the load, and for how long it has to. */
const Support = z.strictObject({
  shape: z
    .enum(['plate', 'round'])
    .describe('section that carries the load: a plate loses its faces, a round core all around'),
  sizeMm: PositiveDecimal.describe('thickness of the plate or diameter of the core'),
  weeks: whole(1, 520).describe('healing window: weeks for which it has to hold'),
  strengthLeft: PartLeft.describe('least bending strength at the end of the window, as a fraction of the start'),
  rate: Code.describe('characteristic that gives the degradation rate'),
  localisationFactor: PositiveDecimal.refine((text) => Number(text) >= 1, { error: 'a factor of at least 1' })
    .optional()
    .describe('deepest over mean attack'),
  basis: Text.describe('where window and limit come from'),
});

export const Family = z.strictObject({
  kind: z.literal('family'),
  format: Format,
  family: Code.describe('code of the device family'),
  revision: whole(1),
  title: Text,
  alloy: Text.describe('alloy as the drawing names it'),
  intendedUse: Text,
  route: LegalRoute.describe('legal route on which units reach patients'),
  laws: z
    .array(
      z.strictObject({
        law: Law,
        route: LegalRoute.describe('legal route under this law'),
        class: Text.optional().describe('class of the device under this law'),
        deviceType: Code.optional().describe(
          'type of device as it is counted: a year allows few custom-made ones of a type',
        ),
      }),
    )
    .min(1)
    .optional()
    .describe('the route under each law under which units are used, where it is not the same everywhere'),
  classEu: Text.optional().describe(
    'class under Regulation (EU) 2017/745; wholly absorbed implants: III (Annex VIII rule 8)',
  ),
  sterile: z.enum(['sterile', 'non-sterile']),
  lifetime: z
    .strictObject({ years: whole(1, 100), basis: Text })
    .describe('device lifetime as the maker defines it: implantation until absorption and healing follow-up'),
  udiDi: z
    .string()
    .regex(/^\d{14}$/, { error: 'the 14 digits of a GTIN' })
    .optional()
    .describe('GTIN of the unit pack, the UDI-DI; not for custom-made or investigational devices'),
  model: Text.optional().describe('name or model on the label'),
  manufacturer: Manufacturer.optional(),
  bodyCertificate: z
    .strictObject({ body: Text, number: Text, scope: Text, expiry: Day })
    .optional()
    .describe('certificate of the notified body'),
  conformity: z
    .strictObject({
      exceptions: z
        .array(z.strictObject({ requirement: Text, grounds: Text }))
        .default([])
        .describe('general safety and performance requirements (Annex I) not fully met, each with its grounds'),
      substances: Text.describe('medicinal substances, blood derivatives, human or animal tissues: which, or "none"'),
    })
    .optional()
    .describe('what the statement of a custom-made device says (Regulation (EU) 2017/745 Annex XIII)'),
  support: Support.optional(),
  effectiveFrom: Moment,
  approval: Approval.optional(),
});
export type Family = z.infer<typeof Family>;

/** The last digit of a GTIN follows from the others (GS1 General Specifications, section 7.9). */
function gtinFault(udiDi: string | undefined): Contradiction[] {
  if (udiDi === undefined) return [];
  const digit = checkDigit(udiDi.slice(0, -1));
  if (udiDi.endsWith(digit)) return [];
  const expected = `${udiDi.slice(0, -1)}${digit}`;
  return [{ field: 'udiDi', found: udiDi, expected, remedy: 'a digit is wrong: compare with the list of numbers' }];
}

/** Regulation (EU) 2017/745 article 27 leaves these out. */
function routeFault({ udiDi, route }: Family): Contradiction[] {
  if (udiDi === undefined || (route !== 'custom-made' && route !== 'investigational')) return [];
  return [
    {
      field: 'udiDi',
      found: `a UDI-DI on the route ${route}`,
      expected: 'none: this route carries no UDI, the unit is known by its serial',
      remedy: 'remove it, or correct the route',
    },
  ];
}

export const family = defineKind<Family>({
  kind: 'family',
  numbering: 'document',
  purpose: 'The type of implant: what it is for, of which alloy, on which legal route, and how long records must last.',
  schema: Family,
  key: (document) => document.family,
  name: (document) => document.title,
  links: (document) =>
    document.approval
      ? [tie('approval claimed by', 'person', document.approval.by, 'approval.by', { aside: true })]
      : [],
  contradictions: (document) => [
    ...gtinFault(document.udiDi),
    ...routeFault(document),
    ...repeated(
      (document.laws ?? []).map(({ law }) => law),
      (index) => `laws[${index}].law`,
      'law',
    ),
    ...(document.laws ?? []).flatMap((law, index) => typeToCount(law, `laws[${index}]`)),
  ],
  files: (document) => originalOf(document.approval, 'approval'),
});
