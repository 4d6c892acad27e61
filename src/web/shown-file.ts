import type { Readable } from 'node:stream';
import { StreamableFile } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import { inline } from './disposition.js';

/** Nothing runs in a file that others made, and no page but ours holds it. */
export const SHOWN_POLICY = "default-src 'none'; sandbox; frame-ancestors 'self'";

/** What a form shows beside its fields: a scan as a picture, or as a PDF in a frame. */
export interface ShownFile {
  readonly name: string;
  readonly href: string;
  readonly is: 'picture' | 'document';
}

const PICTURE = /\.(?:png|jpe?g)$/i;
const DOCUMENT = /\.pdf$/i;

/** By its name, which is all that a page knows of it. @returns undefined for what browsers do not show. */
export function shownFile(name: string, href: string): ShownFile | undefined {
  if (PICTURE.test(name)) return { name, href, is: 'picture' };
  return DOCUMENT.test(name) ? { name, href, is: 'document' } : undefined;
}

const PNG = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
const JPEG = Buffer.from([0xff, 0xd8, 0xff]);
const PDF = Buffer.from('%PDF-');
export const SNIFFED_BYTES = PNG.length;

/**
 * The answer that shows a file in a page. What it is, its first bytes say, whatever its name says.
 * @param start its first bytes, `SNIFFED_BYTES` of them where it has so many.
 * @throws AppError REFUSED for what is no PNG, no JPEG and no PDF.
 */
export function showInPlace(name: string, start: Uint8Array, body: Uint8Array | Readable, length: number) {
  const begins = (sign: Buffer) => Buffer.compare(start.subarray(0, sign.length), sign) === 0;
  const type = begins(PNG) ? 'image/png' : begins(JPEG) ? 'image/jpeg' : begins(PDF) ? 'application/pdf' : undefined;
  if (type === undefined) throw new AppError('REFUSED', `${name} is no picture and no PDF, whatever its name says`);
  const options = { type, disposition: inline(name), length };
  return body instanceof Uint8Array ? new StreamableFile(body, options) : new StreamableFile(body, options);
}
