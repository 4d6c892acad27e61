import { MOST } from '../base/limits.js';
import { programName } from '../base/settings.js';
import { whatDiffers } from '../pdf/reading/open-pdf.js';
import type { PagePlace, PdfContents, PdfSignature } from '../pdf/reading/read-pdf.js';
import { sealFrame } from '../pdf/seal/seal-pdf.js';
import { type Enclosure, issueOf } from '../records/enclosure.js';
import { type RecordContent, renderRecord } from '../records/render-record.js';
import { SEAL_FIELD } from '../report/phrases/seal.js';
import { type HoldingSeal, isSealed, timeOf } from './check-seal.js';
import type { Steps } from './report.js';

/**
 * Renders the attached data again and compares the file byte for byte, up to the value of its seal. Only the build that
 * rendered it, on the same Node.js, draws the same bytes; elsewhere the seal alone covers the pages, which are counted.
 */
export async function checkPages(
  bytes: Buffer,
  content: Omit<RecordContent, 'issue'>,
  enclosure: Enclosure,
  file: PagesFile,
  steps: Steps,
): Promise<void> {
  const render = () => renderRecord({ ...content, issue: issueOf(enclosure) });
  await checkDrawn(bytes, { ...enclosure, draft: enclosure.record.draft }, render, file, steps);
}

interface PagesFile {
  readonly contents: Pick<PdfContents, 'pages' | 'signatures'>;
  readonly seal: HoldingSeal | undefined;
}

/** Who drew the pages, where, and whether they were sealed. */
type DrawnBy = Pick<Enclosure, 'program' | 'node' | 'seal'> & { readonly draft: boolean };

type Render = () => Promise<{ readonly pdf: Uint8Array }>;

/** The same of whatever was drawn from what it carries. */
export async function checkDrawn(
  bytes: Buffer,
  enclosure: DrawnBy,
  render: Render,
  { contents, seal }: PagesFile,
  steps: Steps,
): Promise<void> {
  const { program, node } = enclosure;
  if (program !== programName() || node !== process.versions.node) {
    countPages(contents.pages, steps);
    const own = { thisProgram: programName(), thisNode: process.versions.node };
    const finding = {
      code: 'rendered elsewhere',
      facts: { program, node, ...own, sealed: seal !== undefined },
    } as const;
    // Of a draft nothing covers the pages: only the build that drew them knows whether they are the same.
    if (seal) steps.skip('pages', finding);
    else steps.notKnown('pages', finding);
    return;
  }
  const [signature] = contents.signatures;
  const again = await renderAgain(render, signature, steps);
  if (!again) return;
  if (again.bytes.equals(bytes)) {
    steps.holds('pages', { code: 'rendered alike', facts: { signed: signature !== undefined } });
    return;
  }
  const differences = await whatDiffers(again.bytes, bytes);
  const isSaved = differences?.parts.length === 0 && isAsIssued(again, enclosure);
  if (isSaved) steps.broken('pages', { code: 'saved again', facts: { sealed: again.signature !== undefined } });
  else steps.broken('pages', { code: 'rendered otherwise', facts: { differences } });
}

/** Every page says which of how many it is. A file that says nothing of it tells nothing either. */
function countPages(pages: PdfContents['pages'], steps: Steps): void {
  const places = pages.filter((place): place is PagePlace => place !== undefined);
  const of = Math.max(0, ...places.map((place) => place.of));
  if (of === 0 || of > MOST.pdfPages) return;
  const has = new Set(places.map(({ page }) => page));
  const missing = Array.from({ length: of }, (_, index) => index + 1).filter((page) => !has.has(page));
  const facts = { missing, count: pages.length, of };
  if (missing.length > 0 || pages.length !== of) steps.broken('pages', { code: 'pages counted', facts });
}

/** The file as it must have been issued, with the seal of the file at hand. */
interface IssuedAgain {
  readonly bytes: Buffer;
  readonly signature: PdfSignature | undefined;
}

/** Whether the seal holds over the file that was made again; a draft that was never sealed has nothing more to show. */
function isAsIssued({ bytes, signature }: IssuedAgain, { draft, seal }: DrawnBy): boolean {
  if (!signature) return seal === null && draft;
  return isSealed(bytes, signature, { draft, certificateSha256: seal?.certificateSha256 ?? null });
}

/** The file as it must be; only the value of the signature is taken from the file itself. */
async function renderAgain(
  render: Render,
  signature: PdfSignature | undefined,
  steps: Steps,
): Promise<IssuedAgain | undefined> {
  try {
    const pdf = Buffer.from((await render()).pdf);
    return signature ? withSeal(pdf, signature) : { bytes: pdf, signature };
  } catch {
    // As with the assessment: what was forged may be more than the renderer is made for.
    return steps.broken('pages', { code: 'not renderable' });
  }
}

function withSeal(pdf: Buffer, sealed: PdfSignature): IssuedAgain {
  const { name, reason, time, value } = sealed;
  const signedAt = timeOf(time);
  if (signedAt === undefined || value.length === 0) return { bytes: pdf, signature: undefined };
  const words = { signedAt, reason, name, title: SEAL_FIELD.title(name), alt: SEAL_FIELD.alt };
  const { bytes, from, to } = sealFrame(pdf, words, value.length);
  bytes.write(Buffer.from(value).toString('hex'), from + 1, 'latin1');
  return { bytes, signature: { ...sealed, byteRange: [0, from, to, bytes.length - to] } };
}
