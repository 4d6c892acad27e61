import fs from 'node:fs';
import { Controller, Get, Header, Param, StreamableFile } from '@nestjs/common';
import { AppError, NotFoundError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { CalibrationCertificate, DCC_HEAD, isDcc, readDcc } from '../intake/dcc.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { SHOWN_POLICY, SNIFFED_BYTES, showInPlace } from '../web/shown-file.js';

/** Files as received. They are saved, and not shown in place, since what they hold is not ours; but for scans beside a form. */
@Controller()
export class EvidenceController {
  constructor(private readonly store: Store) {}

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
    summary: 'What a digital calibration certificate (DCC) says, value by value; its signature is not verified',
    answer: CalibrationCertificate,
  })
  @Get('api/v1/evidence/:sha256/certificate')
  async certificate(@Param('sha256', NAMED) sha256: string): Promise<CalibrationCertificate> {
    const { fileName, bytes, path } = await this.received(sha256);
    if (bytes > MOST.certificateBytes || !isDcc(Buffer.from(firstBytes(path, DCC_HEAD)))) {
      throw new NotFoundError('digital calibration certificate', sha256, 'with this SHA-256');
    }
    return readDcc(fileName, await fs.promises.readFile(path));
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
