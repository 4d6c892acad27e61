import { programName } from '../base/settings.js';
import { whatDiffers } from '../pdf/reading/open-pdf.js';
import type { PdfSignature } from '../pdf/reading/read-pdf.js';
import { sealFrame } from '../pdf/seal/seal-pdf.js';
import { type Enclosure, issueOf } from '../records/enclosure.js';
import { type RecordContent, renderRecord } from '../records/render-record.js';
import { SEAL_FIELD } from '../report/phrases/seal.js';
import { type HoldingSeal, timeOf } from './check-seal.js';
import type { Steps } from './report.js';

/**
 * Renders the attached data again and compares the file byte for byte, up to the value of its seal. Only the build that
 * rendered it, on the same Node.js, draws the same bytes; elsewhere the seal alone covers the pages.
 */
export async function checkPages(
  bytes: Buffer,
  content: Omit<RecordContent, 'issue'>,
  enclosure: Enclosure,
  { signature, seal }: { signature: PdfSignature | undefined; seal: HoldingSeal | undefined },
  steps: Steps,
): Promise<void> {
  const { program, node } = enclosure;
  if (program !== programName() || node !== process.versions.node) {
    const own = { thisProgram: programName(), thisNode: process.versions.node };
    steps.skip('pages', { code: 'rendered elsewhere', facts: { program, node, ...own, sealed: seal !== undefined } });
    return;
  }
  const again = await renderAgain({ ...content, issue: issueOf(enclosure) }, bytes, signature, steps);
  if (!again) return;
  if (again.equals(bytes)) {
    steps.holds('pages', { code: 'rendered alike', facts: { signed: signature !== undefined } });
  } else {
    steps.broken('pages', { code: 'rendered otherwise', facts: { parts: await whatDiffers(again, bytes) } });
  }
}

/** The file as it must be; only the value of the signature is taken from the file itself. */
async function renderAgain(
  content: RecordContent,
  bytes: Buffer,
  signature: PdfSignature | undefined,
  steps: Steps,
): Promise<Buffer | undefined> {
  try {
    const pdf = Buffer.from((await renderRecord(content)).pdf);
    return signature ? withSeal(pdf, bytes, signature) : pdf;
  } catch (error) {
    // As with the assessment: what was forged may be more than the renderer is made for.
    return steps.broken('pages', { code: 'not renderable', facts: { message: (error as Error).message } });
  }
}

function withSeal(pdf: Buffer, sealed: Buffer, { name, reason, time, byteRange }: PdfSignature): Buffer {
  const signedAt = timeOf(time);
  const room = (byteRange[2]! - byteRange[1]! - 2) / 2;
  if (signedAt === undefined || !Number.isInteger(room) || room < 0 || room > sealed.length) return pdf;
  const frame = sealFrame(pdf, { signedAt, reason, name, title: SEAL_FIELD.title(name), alt: SEAL_FIELD.alt }, room);
  sealed.subarray(frame.from, frame.to).copy(frame.bytes, frame.from);
  return frame.bytes;
}
