import { z } from 'zod';
import { Approval, Code, Day, FilePath, Format, Moment, PositiveDecimal, Reason, Text, Ucum } from './fields.js';
import {
  type Contradiction,
  type DeclaredKind,
  type DigestOf,
  defineKind,
  originalOf,
  repeated,
  type SignablePart,
  tie,
} from './kind.js';

/** A certified value as the paper states it: `0.42`, `<0.003`, `12 `. */
export const CertifiedValue = z
  .union([z.string(), z.number()])
  .transform((value) => String(value).trim())
  .pipe(
    z.string().regex(/^(?:[<>≤≥]\s?)?[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d{1,3})?$/, {
      error: 'a decimal number with a point, with < or > where the certificate has one',
    }),
  )
  .describe('certified value, with < or > where the certificate has one');

export const CertificateLine = z.strictObject({
  property: Code.describe('element or property'),
  value: CertifiedValue,
  ucum: Ucum,
  method: Text.optional(),
});

export const Receipt = z.strictObject({
  kind: z.literal('receipt'),
  format: Format,
  receipt: Code.describe('internal number of the goods received'),
  supplier: Code,
  material: Code.describe('material as specifications name it'),
  category: z.enum(['powder', 'gas', 'peening media', 'tool', 'packaging', 'other']),
  supplierLot: Text,
  heats: z.array(Code).default([]).describe('heat (melt) numbers at the supplier'),
  massG: PositiveDecimal.optional(),
  receivedAt: Moment,
  expiry: Day.optional(),
  status: z.enum(['quarantine', 'accepted', 'rejected']),
  acceptance: Approval.optional().describe('who accepted or rejected it'),
  certificate: z
    .strictObject({
      number: Text,
      type: z.enum(['2.1', '2.2', '3.1', '3.2', 'gas analysis', 'other']).describe('type by EN 10204 for metal'),
      issued: Day,
      file: FilePath.optional().describe('the certificate as received'),
      transcribedBy: Code,
      checkedBy: Code.optional(),
      lines: z.array(CertificateLine).min(1),
    })
    .optional(),
  reason: Reason,
});
export type Receipt = z.infer<typeof Receipt>;

/** Heat numbers are unique only at their supplier. */
export const heatKey = (supplierCode: string, heat: string): string => `${supplierCode}:${heat}`;

function contradictions(document: Receipt): Contradiction[] {
  const { certificate, status, acceptance } = document;
  return [
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

export const heat: DeclaredKind<z.infer<typeof Heat>> = { kind: 'heat', title: 'heat', schema: Heat };

/** The certificate as it was transcribed. Whoever is said to have checked it is not part of it. */
export function certificatePart({ receipt, certificate }: Receipt, digestOf: DigestOf): SignablePart | undefined {
  if (!certificate) return undefined;
  const { checkedBy: _, ...transcribed } = certificate;
  return { kind: 'certificate', key: receipt, digest: digestOf({ receipt, ...transcribed }) };
}

/** The acceptance or rejection: what the receipt is, its status and its certificate. */
export function acceptancePart(document: Receipt, digestOf: DigestOf): SignablePart {
  const { kind, receipt, supplier, material, supplierLot, heats, status, expiry } = document;
  const certificate = certificatePart(document, digestOf)?.digest ?? '';
  const covered = { receipt, supplier, material, supplierLot, heats, status, expiry: expiry ?? '', certificate };
  return { kind, key: receipt, digest: digestOf(covered) };
}

export const receipt = defineKind<Receipt>({
  kind: 'receipt',
  title: 'receipt',
  numbering: 'running',
  purpose: 'Material that came in: supplier, heats, quantity, certificate line by line, and whether it was accepted.',
  schema: Receipt,
  key: (document) => document.receipt,
  name: (document) => `${document.material}, lot ${document.supplierLot}`,
  links: (document) => [
    tie('from supplier', 'supplier', document.supplier, 'supplier'),
    ...document.heats.map((heat, index) =>
      tie('contains heat', 'heat', heatKey(document.supplier, heat), `heats[${index}]`),
    ),
    ...(document.acceptance ? [tie('acceptance claimed by', 'person', document.acceptance.by, 'acceptance.by')] : []),
    ...(document.certificate
      ? [tie('certificate transcribed by', 'person', document.certificate.transcribedBy, 'certificate.transcribedBy')]
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
