import { createHash } from 'node:crypto';
import fs from 'node:fs';
import type { Refusal } from '../../../base/object-store-trouble.js';
import { escapeXml } from '../../../base/xml-text.js';
import { eachAtOnce } from './at-once.js';
import { allIn, type Element, element, readAnswer, textIn } from './object-answers.js';
import type { ObjectClient } from './object-client.js';

const MIB = 1 << 20;
/** A file up to here goes in one request. */
export const PART_BYTES = 8 * MIB;
/** No server takes more parts. */
const MOST_PARTS = 10_000;
const AT_ONCE = 3;
/** Uploads that were begun so long ago are no more gone on with, by anybody. */
const LEFT_BEHIND_MS = 7 * 24 * 3_600_000;

interface Part {
  readonly number: number;
  readonly etag: string;
  /** Base64. */
  readonly sha256: string;
}

interface Upload {
  readonly key: string;
  readonly id: string;
  readonly begunAt: string;
}

/**
 * Puts a long file in parts, each with its SHA-256. What an upload that was cut off left there is gone on with: a part that is
 * there with the SHA-256 of ours is not sent again. Nothing is seen under the name before all of it is there.
 * @param headers of the object: what is kept beside it.
 * @returns whether it was put; false when something is there under the name.
 */
export async function putInParts(
  client: ObjectClient,
  key: string,
  file: string,
  headers: Readonly<Record<string, string>>,
  now = Date.now(),
): Promise<boolean> {
  const source = await fs.promises.open(file);
  try {
    const { size } = await source.stat();
    const partBytes = Math.max(PART_BYTES, Math.ceil(size / MOST_PARTS / MIB) * MIB);
    const left = await uploadLeft(client, key, now);
    const there = left === undefined ? new Map<number, PartThere>() : await partsOf(client, key, left);
    const id = left ?? (await begin(client, key, headers));
    const parts: Part[] = [];
    const numbers = Array.from({ length: Math.ceil(size / partBytes) }, (_, index) => index + 1);
    await eachAtOnce(numbers, AT_ONCE, async (number) => {
      const bytes = Buffer.allocUnsafe(Math.min(partBytes, size - (number - 1) * partBytes));
      await readFully(source, bytes, (number - 1) * partBytes);
      parts.push(await putPart(client, { key, id, number }, bytes, there.get(number)));
    });
    parts.sort((a, b) => a.number - b.number);
    return await complete(client, { key, id }, parts);
  } finally {
    await source.close();
  }
}

async function readFully(source: fs.promises.FileHandle, bytes: Buffer, position: number): Promise<void> {
  for (let at = 0; at < bytes.length; ) {
    const { bytesRead } = await source.read(bytes, at, bytes.length - at, position + at);
    if (bytesRead === 0) throw new Error('the file became shorter while it was sent');
    at += bytesRead;
  }
}

async function begin(client: ObjectClient, key: string, headers: Readonly<Record<string, string>>): Promise<string> {
  const { body } = await client.ask({
    ...{ method: 'POST', key, query: { uploads: '' } },
    headers: { ...headers, 'x-amz-checksum-algorithm': 'SHA256' },
  });
  return textIn(readAnswer(body, 'InitiateMultipartUploadResult'), 'UploadId');
}

/** The newest upload of a name that is not complete; those that nobody goes on with any more are let go of. */
async function uploadLeft(client: ObjectClient, key: string, now: number): Promise<string | undefined> {
  const uploads = (await uploadsBelow(client, key)).filter((upload) => upload.key === key);
  const young: Upload[] = [];
  for (const upload of uploads) {
    if (now - Date.parse(upload.begunAt) > LEFT_BEHIND_MS) await abort(client, upload);
    else young.push(upload);
  }
  return young.sort((a, b) => (a.begunAt < b.begunAt ? -1 : 1)).at(-1)?.id;
}

/** Lets go of everything that was begun below a prefix and that nobody goes on with any more. */
export async function dropLeftUploads(client: ObjectClient, prefix: string, now = Date.now()): Promise<void> {
  for (const upload of await uploadsBelow(client, prefix)) {
    if (now - Date.parse(upload.begunAt) > LEFT_BEHIND_MS) await abort(client, upload);
  }
}

/** Lets go of every upload of a name: no piece of it stays. */
export async function dropUploadsOf(client: ObjectClient, key: string): Promise<void> {
  for (const upload of await uploadsBelow(client, key)) if (upload.key === key) await abort(client, upload);
}

async function uploadsBelow(client: ObjectClient, prefix: string): Promise<Upload[]> {
  const found: Upload[] = [];
  let after: Record<string, string> = {};
  for (;;) {
    const { body } = await client.ask({ method: 'GET', query: { uploads: '', prefix, ...after } });
    const answer = readAnswer(body, 'ListMultipartUploadsResult');
    const own = (element: Element): Upload => ({
      ...{ key: textIn(element, 'Key'), id: textIn(element, 'UploadId'), begunAt: textIn(element, 'Initiated') },
    });
    found.push(...allIn(answer, 'Upload').map(own));
    if (textIn(answer, 'IsTruncated') !== 'true') return found;
    after = { 'key-marker': textIn(answer, 'NextKeyMarker'), 'upload-id-marker': textIn(answer, 'NextUploadIdMarker') };
  }
}

const abort = (client: ObjectClient, { key, id }: Pick<Upload, 'key' | 'id'>) =>
  client.ask({ method: 'DELETE', key, query: { uploadId: id } }, isNoUpload);

const isNoUpload = ({ code }: Refusal): boolean => code === 'NoSuchUpload';

interface PartThere {
  readonly etag: string;
  readonly bytes: number;
  readonly sha256: string;
}

async function partsOf(client: ObjectClient, key: string, id: string): Promise<Map<number, PartThere>> {
  const found = new Map<number, PartThere>();
  let after: Record<string, string> = {};
  for (;;) {
    const { body } = await client.ask({ method: 'GET', key, query: { uploadId: id, ...after } });
    const answer = readAnswer(body, 'ListPartsResult');
    for (const part of allIn(answer, 'Part')) {
      found.set(Number(textIn(part, 'PartNumber')), {
        ...{ etag: textIn(part, 'ETag'), bytes: Number(textIn(part, 'Size')), sha256: textIn(part, 'ChecksumSHA256') },
      });
    }
    if (textIn(answer, 'IsTruncated') !== 'true') return found;
    after = { 'part-number-marker': textIn(answer, 'NextPartNumberMarker') };
  }
}

async function putPart(
  client: ObjectClient,
  { key, id, number }: { key: string; id: string; number: number },
  bytes: Buffer<ArrayBuffer>,
  there: PartThere | undefined,
): Promise<Part> {
  const sha256 = createHash('sha256').update(bytes).digest('base64');
  if (there?.sha256 === sha256 && there.bytes === bytes.length) return { number, etag: there.etag, sha256 };
  const { headers } = await client.ask({
    ...{ method: 'PUT', key, query: { partNumber: String(number), uploadId: id }, body: bytes },
    headers: { 'x-amz-checksum-sha256': sha256 },
  });
  return { number, etag: headers.get('etag') ?? '', sha256 };
}

async function complete(
  client: ObjectClient,
  { key, id }: { key: string; id: string },
  parts: readonly Part[],
): Promise<boolean> {
  const named = parts.map(({ number, etag, sha256 }) =>
    element(
      'Part',
      element('PartNumber', `${number}`),
      element('ETag', escapeXml(etag)),
      element('ChecksumSHA256', sha256),
    ),
  );
  const body = Buffer.from(element('CompleteMultipartUpload', ...named));
  const { refusal } = await client.ask(
    { method: 'POST', key, query: { uploadId: id }, body, headers: { 'if-none-match': '*' } },
    ({ status, code }) => status === 412 || isNoUpload({ status, code, at: undefined }),
  );
  if (refusal === undefined) return true;
  // An upload that is gone was completed by a request of which the answer was lost, or by somebody else.
  if (refusal.status === 412) await abort(client, { key, id });
  return false;
}
