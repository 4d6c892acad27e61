import fs from 'node:fs';
import { Controller, Get, Header, Param, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { AppError, NotFoundError } from '../base/errors.js';
import { CalibrationCertificate } from '../intake/dcc.js';
import { readDccFile } from '../intake/dcc-in-worker.js';
import { isStoredDcc } from '../intake/stored-dcc.js';
import { isTrusted, namedSigners } from '../intake/trusted-signers.js';
import { evidenceAddress } from '../report/page-addresses.js';
import { CALIBRATION_CERTIFICATE } from '../report/phrases/calibration-certificate.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { SHOWN_POLICY, SNIFFED_BYTES, showInPlace } from '../web/shown-file.js';

const ToldCertificate = CalibrationCertificate.extend({
  trustedAs: z
    .array(z.string().nullable())
    .describe(
      'for each signature, the supplier of which the cell named its certificate; null where none did, or it was not valid then',
    ),
});
type ToldCertificate = z.infer<typeof ToldCertificate>;

/** So many certificates are kept as they were read. */
const MOST_READ = 8;

/** Files as received. They are saved, and not shown in place, since what they hold is not ours; but for scans beside a form. */
@Controller()
export class EvidenceController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Operation({ summary: 'A file as received', answer: 'a file' })
  @Get(['evidence/:sha256', 'api/v1/evidence/:sha256'])
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  @Header('X-Content-Type-Options', 'nosniff')
  async download(@Param('sha256', NAMED) sha256: string): Promise<StreamableFile> {
    const { fileName, bytes, path } = await this.received(sha256);
    return new StreamableFile(fs.createReadStream(path), {
      type: 'application/octet-stream',
      disposition: attachment(fileName),
      length: bytes,
    });
  }

  @Access('signed in')
  @Get('evidence/:sha256/shown')
  @Header('Content-Security-Policy', SHOWN_POLICY)
  @Header('X-Content-Type-Options', 'nosniff')
  async show(@Param('sha256', NAMED) sha256: string): Promise<StreamableFile> {
    const { fileName, bytes, path } = await this.received(sha256);
    return showInPlace(fileName, firstBytes(path, SNIFFED_BYTES), fs.createReadStream(path), bytes);
  }

  @Access('signed in')
  @Operation({
    summary: 'What a digital calibration certificate (DCC) says, value by value, and whose signatures it bears',
    answer: ToldCertificate,
  })
  @Get('api/v1/evidence/:sha256/certificate')
  async certificate(@Param('sha256', NAMED) sha256: string): Promise<ToldCertificate> {
    const { certificate } = await this.certified(sha256);
    const signers = await this.signersOf(certificate);
    return { ...certificate, trustedAs: signers.map((one) => (isTrusted(one) ? one.supplier : null)) };
  }

  @Access('signed in')
  @Get('evidence/:sha256/certificate')
  @Header(...HTML)
  async showCertificate(@Param('sha256', NAMED) sha256: string): Promise<string> {
    const { certificate, fileName } = await this.certified(sha256);
    const signers = await this.signersOf(certificate);
    return this.pages.render('calibration-certificate', PAGE_TITLES.calibrationCertificate(certificate.identifier), {
      certificate,
      signatures: certificate.signatures.map((signature, at) => ({ signature, signer: signers[at] })),
      file: { name: fileName, to: evidenceAddress(sha256) },
      says: CALIBRATION_CERTIFICATE,
    });
  }

  private signersOf(certificate: CalibrationCertificate) {
    return namedSigners(this.store.read, certificate);
  }

  /** What was read stays read: the bytes of a SHA-256 never change, and verifying signatures takes time. */
  private readonly read = new Map<string, CalibrationCertificate>();

  private async certified(sha256: string): Promise<{ certificate: CalibrationCertificate; fileName: string }> {
    const { fileName, path } = await this.received(sha256);
    if (!(await isStoredDcc(this.store, sha256))) {
      throw new NotFoundError('digital calibration certificate', sha256, 'with this SHA-256');
    }
    const certificate = this.read.get(sha256) ?? (await readDccFile({ name: fileName, path }));
    // The one that was asked for last is the last to go.
    this.read.delete(sha256);
    this.read.set(sha256, certificate);
    for (const oldest of this.read.keys()) if (this.read.size > MOST_READ) this.read.delete(oldest);
    return { certificate, fileName };
  }

  private async received(sha256: string): Promise<{ fileName: string; bytes: number; path: string }> {
    const { fileName, bytes } = await this.store.read.evidence.info(sha256);
    if (await this.store.evidence.liesApart(sha256)) {
      throw new AppError('REFUSED', 'personal data are kept apart and not shown on pages; see docs/operations.md');
    }
    await this.store.evidence.verify(sha256);
    return { fileName, bytes, path: await this.store.evidence.pathOf(sha256) };
  }
}

function firstBytes(path: string, count: number): Uint8Array {
  const file = fs.openSync(path, 'r');
  try {
    const start = Buffer.alloc(count);
    return start.subarray(0, fs.readSync(file, start));
  } finally {
    fs.closeSync(file);
  }
}
