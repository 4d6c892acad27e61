import fs from 'node:fs';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { CertificateLine } from '../kinds/receipt.js';
import type { Store } from '../store/store.js';

/** So much of a line is told of each value: one of XML may hold the whole certificate. */
const LONGEST_LINE = 2000;

/** The certificate of a receipt, and what stands in its file where each value was read. */
export const ReceiptCertificate = z.strictObject({
  receipt: z.string(),
  revision: z.int(),
  material: z.string(),
  supplier: z.string(),
  supplierLot: z.string(),
  heats: z.array(z.string()),
  number: z.string(),
  type: z.string(),
  issued: z.string(),
  transcribedBy: z.string(),
  checkedBy: z.string().optional(),
  readBy: z.strictObject({ profile: z.string(), revision: z.int() }).nullable().describe('null where people read it'),
  file: z.strictObject({ name: z.string(), sha256: z.string() }).nullable(),
  lines: z.array(
    z.strictObject({
      ...CertificateLine.shape,
      inFile: z
        .string()
        .nullable()
        .describe(
          `the line of the file as it stands there, its first ${LONGEST_LINE} characters; null where no profile read it, or the file is not at hand`,
        ),
    }),
  ),
});
export type ReceiptCertificate = z.infer<typeof ReceiptCertificate>;

/** @throws NotFoundError for no such receipt, and for one without a certificate. */
export async function receiptCertificate({ read, evidence }: Store, code: string): Promise<ReceiptCertificate> {
  const current = await read.entries.current('receipt', code);
  const certificate = current?.body.certificate;
  if (current === undefined || certificate === undefined) throw new NotFoundError('receipt with a certificate', code);
  const { revision, body } = current;
  const named = await read.entries.evidenceNamedBy([{ kind: 'receipt', key: code, revision }]);
  const file = named.find(({ name }) => name === 'certificate');
  const isRead = certificate.readBy !== undefined && file !== undefined;
  const text = isRead ? await linesOf(evidence, file.sha256) : [];
  return {
    ...{ receipt: code, revision, material: body.material, supplier: body.supplier, supplierLot: body.supplierLot },
    ...{ heats: body.heats, number: certificate.number, type: certificate.type, issued: certificate.issued },
    transcribedBy: certificate.transcribedBy,
    ...(certificate.checkedBy === undefined ? {} : { checkedBy: certificate.checkedBy }),
    readBy: certificate.readBy ?? null,
    file: file === undefined ? null : { name: file.fileName, sha256: file.sha256 },
    lines: certificate.lines.map((line) => ({
      ...line,
      inFile: line.line === undefined ? null : (text[line.line - 1]?.slice(0, LONGEST_LINE) ?? null),
    })),
  };
}

/** Of a file that a profile read; none of one that lies apart, is not there any more, or is no text. */
async function linesOf(evidence: Store['evidence'], sha256: string): Promise<readonly string[]> {
  if (await evidence.liesApart(sha256)) return [];
  await evidence.verify(sha256);
  const bytes = await fs.promises.readFile(await evidence.pathOf(sha256));
  if (bytes.length > MOST.certificateBytes) return [];
  return bytes
    .toString('utf8')
    .replace(/^\uFEFF/, '')
    .split(/\r?\n/);
}
