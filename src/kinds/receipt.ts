import { z } from 'zod';
import {
  Approval,
  CertificateType,
  Code,
  Day,
  FilePath,
  Format,
  MaterialCategory,
  MaterialRef,
  PastDay,
  PastMoment,
  PositiveDecimal,
  Quantity,
  Reason,
  Text,
  Ucum,
  whole,
  YesNo,
} from './fields.js';
import { typedAs } from './form-sense.js';
import {
  type Contradiction,
  type DeclaredKind,
  type DigestOf,
  defineKind,
  originalOf,
  repeated,
  type SignablePart,
  tie,
  tooEarly,
} from './kind.js';

/** A certified value as the paper states it: `0.42`, `<0.003`, `12 `. */
export const CertifiedValue = typedAs(
  'certified',
  z
    .union([z.string(), z.number()])
    .transform((value) => String(value).trim())
    .pipe(
      z.string().regex(/^(?:[<>≤≥]\s?)?[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d{1,3})?$/, {
        error: 'a decimal number with a point, with < or > where the certificate has one',
      }),
    )
    .describe('certified value, with < or > where the certificate has one'),
);

export const CertificateLine = z.strictObject({
  property: Code.describe('element or property'),
  value: CertifiedValue,
  ucum: Ucum,
  method: Text.optional(),
  uncertainty: PositiveDecimal.optional().describe(
    'standard uncertainty as the certificate states it, in the same unit',
  ),
  detectionLimit: PositiveDecimal.optional().describe('least value that the method can find, in the same unit'),
  sampling: Text.optional().describe('how the sample was taken, and how much'),
  coverageFactor: PositiveDecimal.optional().describe(
    'where the certificate states an expanded uncertainty: so many times the standard one',
  ),
  line: whole(1).optional().describe('line of the file that says it, where a profile read it'),
  column: Text.optional().describe('column of the file that says it, where each property has one'),
});

export const Receipt = z.strictObject({
  kind: z.literal('receipt'),
  format: Format,
  receipt: Code.describe('internal number of the goods received'),
  supplier: Code,
  material: Code.describe('material as specifications name it'),
  materialSpecification: MaterialRef.optional(),
  category: MaterialCategory,
  supplierLot: Text,
  heats: z.array(Code).default([]).describe('heat (melt) numbers at the supplier'),
  massG: PositiveDecimal.optional().describe('what was received, where it is weighed (grams)'),
  quantity: Quantity.optional().describe('what was received, where it is counted or measured in another unit'),
  container: z
    .strictObject({
      sealed: YesNo.describe('whether the seal was whole'),
      desiccantTouches: YesNo.describe('whether desiccant lay in the powder'),
    })
    .optional()
    .describe('how it came'),
  labelLot: Text.optional().describe('lot on the label of the container, letter by letter'),
  state: z.enum(['virgin', 'used']).optional().describe('whether powder was new'),
  atomisation: z
    .strictObject({ route: Text, gas: Text })
    .optional()
    .describe('how powder was made, and under which gas'),
  receivedAt: PastMoment,
  expiry: Day.optional(),
  status: z.enum(['quarantine', 'accepted', 'rejected']),
  acceptance: Approval.optional().describe('who accepted or rejected it'),
  certificate: z
    .strictObject({
      number: Text,
      type: CertificateType,
      issued: PastDay,
      file: FilePath.optional().describe('the certificate as received'),
      transcribedBy: Code,
      checkedBy: Code.optional(),
      readBy: z
        .strictObject({ profile: Code, revision: whole(1) })
        .optional()
        .describe(
          'certificate profile by which the file is read: it gives the lines, and lines that are written too have to agree',
        ),
      lines: z.array(CertificateLine).default([]),
    })
    .optional(),
  corrects: z
    .strictObject({ certificate: Text.describe('number of the certificate that this one replaces'), why: Text })
    .optional()
    .describe('the certificate is a corrected one'),
  reason: Reason,
});
export type Receipt = z.infer<typeof Receipt>;

/** Heat numbers are unique only at their supplier. */
export const heatKey = (supplierCode: string, heat: string): string => `${supplierCode}:${heat}`;

/** A corrected certificate replaces another one. */
function correctionFaults({ corrects, certificate }: Receipt): Contradiction[] {
  if (corrects === undefined) return [];
  if (certificate === undefined) {
    const expected = 'the corrected certificate under certificate';
    return [{ field: 'corrects', found: 'no certificate', expected, remedy: 'transcribe it, or remove the field' }];
  }
  if (corrects.certificate !== certificate.number) return [];
  const expected = 'the number of the certificate that it replaces';
  return [
    { field: 'corrects.certificate', found: `${certificate.number}, its own number`, expected, remedy: 'correct it' },
  ];
}

/** Lines are written, or read from the file by a profile. */
function readingFaults({ certificate }: Receipt): Contradiction[] {
  if (certificate === undefined) return [];
  const { lines, readBy, file } = certificate;
  if (readBy !== undefined && file === undefined) {
    const remedy = 'name the file, or remove readBy and write the lines';
    return [{ field: 'certificate.file', found: 'no file, although a profile reads it', expected: 'the file', remedy }];
  }
  if (readBy !== undefined || lines.length > 0) return [];
  const remedy = 'transcribe them, or name the profile by which the file is read under readBy';
  return [{ field: 'certificate.lines', found: 'no lines', expected: 'the lines of the certificate', remedy }];
}

function contradictions(document: Receipt): Contradiction[] {
  const { certificate, status, acceptance, massG, quantity, receivedAt } = document;
  return [
    ...(massG !== undefined && quantity !== undefined
      ? [
          {
            field: 'quantity',
            found: `massG ${massG} and quantity ${quantity.value} ${quantity.ucum}`,
            expected: 'one of the two',
            remedy: 'state what was received once: grams under massG, everything else under quantity',
          },
        ]
      : []),
    ...tooEarly('acceptance.at', acceptance?.at, receivedAt, 'it was received'),
    ...correctionFaults(document),
    ...readingFaults(document),
    ...repeated(document.heats, (index) => `heats[${index}]`, 'heat'),
    ...(certificate
      ? repeated(
          certificate.lines.map((line) => line.property),
          (index) => `certificate.lines[${index}].property`,
          'property',
        )
      : []),
    ...(certificate && certificate.checkedBy === certificate.transcribedBy
      ? [
          {
            field: 'certificate.checkedBy',
            found: certificate.checkedBy,
            expected: 'another person than the one who transcribed it',
            remedy: 'let a second person compare the lines with the certificate',
          },
        ]
      : []),
    ...(status === 'accepted' && !acceptance
      ? [
          {
            field: 'acceptance',
            found: 'nothing, although the status is accepted',
            expected: 'who accepted it and when',
            remedy: 'add acceptance, or set the status to quarantine',
          },
        ]
      : []),
  ];
}

const Heat = z.strictObject({ supplier: Code, heat: Code });

export const heat: DeclaredKind<z.infer<typeof Heat>> = { kind: 'heat', schema: Heat };

/** The certificate as it was transcribed. Whoever is said to have checked it is not part of it. */
export function certificatePart({ receipt, certificate }: Receipt, digestOf: DigestOf): SignablePart | undefined {
  if (!certificate) return undefined;
  const { checkedBy: _, ...transcribed } = certificate;
  return { kind: 'certificate', key: receipt, digest: digestOf({ receipt, ...transcribed }) };
}

/** The fields that have a value. */
const given = (fields: Readonly<Record<string, unknown>>): Record<string, unknown> =>
  Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined));

/** The acceptance or rejection: what the receipt is, its status and its certificate. */
export function acceptancePart(document: Receipt, digestOf: DigestOf): SignablePart {
  const { kind, receipt, supplier, material, supplierLot, heats, status, expiry } = document;
  const { materialSpecification, container, labelLot, state } = document;
  const certificate = certificatePart(document, digestOf)?.digest ?? '';
  const seen = given({ materialSpecification, container, labelLot, state });
  const covered = {
    receipt,
    supplier,
    material,
    supplierLot,
    heats,
    status,
    expiry: expiry ?? '',
    certificate,
    ...seen,
  };
  return { kind, key: receipt, digest: digestOf(covered) };
}

export const receipt = defineKind<Receipt>({
  kind: 'receipt',
  numbering: 'running',
  purpose: 'Material that came in: supplier, heats, quantity, certificate line by line, and whether it was accepted.',
  schema: Receipt,
  key: (document) => document.receipt,
  name: (document) => `${document.material}, lot ${document.supplierLot}`,
  links: (document) => [
    tie('from supplier', 'supplier', document.supplier, 'supplier'),
    ...(document.materialSpecification
      ? [
          tie(
            'to material specification',
            'material-specification',
            document.materialSpecification.material,
            'materialSpecification',
            { revision: document.materialSpecification.revision },
          ),
        ]
      : []),
    ...document.heats.map((heat, index) =>
      tie('contains heat', 'heat', heatKey(document.supplier, heat), `heats[${index}]`),
    ),
    ...(document.acceptance ? [tie('acceptance claimed by', 'person', document.acceptance.by, 'acceptance.by')] : []),
    ...(document.certificate
      ? [tie('certificate transcribed by', 'person', document.certificate.transcribedBy, 'certificate.transcribedBy')]
      : []),
    ...(document.certificate?.readBy
      ? [
          tie(
            'certificate read by',
            'certificate-profile',
            document.certificate.readBy.profile,
            'certificate.readBy.profile',
            { revision: document.certificate.readBy.revision },
          ),
        ]
      : []),
    ...(document.certificate?.checkedBy
      ? [tie('certificate checked by', 'person', document.certificate.checkedBy, 'certificate.checkedBy')]
      : []),
  ],
  declares: (document) =>
    document.heats.map((heat, index) => ({
      kind: 'heat',
      key: heatKey(document.supplier, heat),
      name: `heat ${heat} of ${document.supplier}`,
      body: { supplier: document.supplier, heat },
      links: [tie('melted by', 'supplier', document.supplier, 'supplier')],
      field: `heats[${index}]`,
    })),
  signable: (document, digestOf) => {
    const certificate = certificatePart(document, digestOf);
    return [acceptancePart(document, digestOf), ...(certificate ? [certificate] : [])];
  },
  contradictions,
  files: (document) => [
    ...(document.certificate?.file
      ? [{ path: document.certificate.file, field: 'certificate.file', name: 'certificate' as const }]
      : []),
    ...originalOf(document.acceptance, 'acceptance'),
  ],
});
