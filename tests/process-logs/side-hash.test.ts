import { createHash, randomBytes } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import type * as Side from '../../src/process-logs/side-hash.js';
import type * as Source from '../../src/process-logs/text-source.js';
import { temporaryFolder } from '../support/cell.js';

/** Only what is compiled has a thread. */
const compiled = (name: string) => import(pathToFileURL(path.resolve('dist', 'process-logs', name)).href);
const { SideHash, PIECE_BYTES } = (await compiled('side-hash.js')) as typeof Side;
const { TextSource } = (await compiled('text-source.js')) as typeof Source;

const sha256 = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');
const LONG = 20 * PIECE_BYTES;

async function fed(hash: Side.SideHash, bytes: Uint8Array, length: number): Promise<string> {
  for (let at = 0; at < bytes.length; at += length) {
    const buffer = await hash.room();
    const piece = bytes.subarray(at, at + length);
    buffer.set(piece);
    hash.take(buffer, piece.length);
  }
  return hash.digest();
}

describe.each([
  ['in this thread', 1000],
  ['in another', LONG],
])('the hash of pieces, made %s', (_, expected) => {
  it('is that of all bytes, with far more pieces than buffers', async () => {
    const hash = new SideHash(expected);
    const bytes = randomBytes(60_001);
    try {
      expect(await fed(hash, bytes, 977)).toBe(sha256(bytes));
    } finally {
      await hash.close();
    }
  });
});

it('gives a buffer back at once where there is no thread, and not while the thread may still read it', async () => {
  for (const [bytes, sameAgain] of [
    [LONG, false],
    [1000, true],
  ] as const) {
    const hash = new SideHash(bytes);
    const buffer = await hash.room();
    hash.take(buffer, 10);
    expect((await hash.room()) === buffer).toBe(sameAgain);
    await hash.close();
  }
});

it('says what ended the thread, to whoever waits and to whoever asks later', async () => {
  const hash = new SideHash(LONG);
  await hash.room();
  hash.take({ subarray: () => ({ no: 'bytes' }) } as unknown as Buffer, 1);
  await expect(hash.digest()).rejects.toThrow(/must be of type string or an instance of Buffer/);
  await expect(hash.digest()).rejects.toThrow(/must be of type string or an instance of Buffer/);
  await hash.close();
});

it.each([
  ['plain', (text: Buffer) => text],
  ['gzip with padding', (text: Buffer) => Buffer.concat([gzipSync(text, { level: 1 }), Buffer.alloc(512)])],
])('hashes a long file that came %s, its text and as received', async (_, packed) => {
  const text = randomBytes(LONG);
  const received = packed(text);
  const file = path.join(temporaryFolder('side-hash'), 'log');
  fs.writeFileSync(file, received);
  const source = await TextSource.open(file);
  const seen = createHash('sha256');
  try {
    for await (const chunk of source.chunks()) seen.update(chunk);
    expect(seen.digest('hex')).toBe(sha256(text));
    expect(await source.finish()).toEqual({
      textSha256: sha256(text),
      sha256: sha256(received),
      bytes: received.length,
    });
  } finally {
    await source.close();
  }
});
