import fs from 'node:fs';
import path from 'node:path';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { openServices, type Services } from '../../src/services.js';
import { firstDifference } from '../../src/verify/first-difference.js';
import { readPdf } from '../../src/verify/read-pdf.js';
import { type VerifyReport, verifyRecord } from '../../src/verify/verify-record.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';

let services: Services;
let record: string;
let bytes: Buffer;

beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('data'), 'data'));
  await services.intake.run(writeCell(makeCell()), 'local:tester');
  record = (await services.issuer.issue('L-1', 'local:tester')).file;
  bytes = fs.readFileSync(record);
});
afterAll(() => services.store.close());

async function verifyBytes(changed: Buffer): Promise<VerifyReport> {
  const file = path.join(temporaryFolder('tampered'), 'record.pdf');
  fs.writeFileSync(file, changed);
  return verifyRecord(file);
}

const failed = ({ steps }: VerifyReport) => steps.filter((step) => step.outcome === 'does not hold');

/** The text with one of its digits changed, each digit in turn from the last. */
function* digitsChanged(text: string): Generator<Buffer> {
  for (let at = text.length - 1; at >= 0; at--) {
    if (/\d/.test(text[at]!))
      yield Buffer.from(`${text.slice(0, at)}${(Number(text[at]) + 1) % 10}${text.slice(at + 1)}`);
  }
}

/** Finds the compressed stream of an attachment and puts one with a changed digit in its place. */
async function withAttachmentChanged(name: string): Promise<Buffer> {
  const { deflateSync, inflateSync } = await import('node:zlib');
  const { attachments } = await readPdf(bytes);
  const plain = Buffer.from(attachments.get(name)!);
  const text = bytes.toString('latin1');
  for (const match of text.matchAll(/\/Type \/EmbeddedFile[\s\S]*?stream\r?\n/g)) {
    const start = match.index + match[0].length;
    const end = text.indexOf('endstream', start);
    const body = bytes.subarray(start, end);
    const filtered = match[0].includes('/FlateDecode');
    let content: Buffer;
    try {
      content = filtered ? inflateSync(body) : body.subarray(0, plain.length);
    } catch {
      continue;
    }
    if (!content.subarray(0, plain.length).equals(plain)) continue;
    // Exactly as long as before, so that no offset moves and nothing but the attachment is odd about the file.
    const room = bytes[end - 1] === 10 ? end - start - 1 : end - start;
    for (const changed of digitsChanged(plain.toString('utf8'))) {
      const packed = filtered ? deflateSync(changed) : changed;
      if (packed.length !== room) continue;
      return Buffer.concat([bytes.subarray(0, start), packed, bytes.subarray(start + room)]);
    }
  }
  throw new Error(`attachment ${name} was not found in the file, or no changed digit packs alike`);
}

it('finds nothing wrong with the record as issued, and says what it could not check', async () => {
  const report = await verifyBytes(bytes);
  expect(report.verdict).toBe('unaltered');
  expect(report.steps.filter((step) => step.outcome === 'not checked').map((step) => step.step)).toEqual([
    'evidence',
    'seal',
    'key',
  ]);
});

it.each(['results.csv', 'dossier.json', 'assessment.json'])('names %s when it was altered', async (name) => {
  const report = await verifyBytes(await withAttachmentChanged(name));
  expect(report.verdict).toBe('altered');
  expect(failed(report)).toEqual([
    expect.objectContaining({ step: 'attachments', says: expect.stringContaining(name) }),
  ]);
});

it('names the enclosure when it was altered', async () => {
  const report = await verifyBytes(await withAttachmentChanged('enclosure.json'));
  expect(failed(report)).toEqual([expect.objectContaining({ step: 'enclosure' })]);
});

it('notices bytes appended after the end, as an added page would be', async () => {
  const report = await verifyBytes(Buffer.concat([bytes, Buffer.from('\n% something more\n')]));
  expect(report.verdict).toBe('altered');
});

it('notices a property changed in place', async () => {
  const at = bytes.indexOf('Invented plate');
  expect(at).toBeGreaterThan(0);
  const changed = Buffer.from(bytes);
  changed.write('Unvented', at);
  expect((await verifyBytes(changed)).verdict).toBe('altered');
});

it('refuses a file that was cut', async () => {
  const report = await verifyBytes(bytes.subarray(0, bytes.length / 2));
  expect(failed(report)).toEqual([expect.objectContaining({ step: 'file' })]);
});

it('refuses what is no record', async () => {
  expect((await verifyBytes(Buffer.from('hello'))).verdict).toBe('altered');
  await expect(verifyRecord('/nowhere/record.pdf')).rejects.toMatchObject({ code: 'BAD_INPUT' });
});

it('names evidence that is missing, and scans logs again where they are there', async () => {
  const whole = await verifyRecord(record, { evidence: services.store.folder.evidence });
  expect(whole.steps).toContainEqual(expect.objectContaining({ step: 'evidence: log of M1-101', outcome: 'holds' }));
  const report = await verifyRecord(record, { evidence: temporaryFolder('empty') });
  expect(report.verdict).toBe('altered');
  expect(failed(report)[0]!.says).toContain('run.csv');
});

it('names the first difference, to one unit of the ninth digit', () => {
  expect(firstDifference({ a: [1, { b: 2 }] }, { a: [1, { b: 3 }] })).toBe('a[1].b: 2 attached, 3 computed again');
  expect(firstDifference(1.234567891, 1.234567892)).toBeUndefined();
  expect(firstDifference(1.23456, 1.23457)).toBeDefined();
  expect(firstDifference({ a: 1 }, {})).toContain('a: 1 attached, nothing computed again');
});

it('carries every attachment with the digest that the enclosure states', async () => {
  const { attachments } = await readPdf(bytes);
  const enclosure = JSON.parse(Buffer.from(attachments.get('enclosure.json')!).toString('utf8'));
  expect(canonicalJson(enclosure)).toBe(Buffer.from(attachments.get('enclosure.json')!).toString('utf8'));
  for (const { name, sha256 } of enclosure.attachments) expect(sha256Hex(attachments.get(name)!)).toBe(sha256);
  expect(enclosure.attachments.length + 1).toBe(attachments.size);
});
