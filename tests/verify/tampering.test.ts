import fs from 'node:fs';
import path from 'node:path';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { readPdf } from '../../src/pdf/reading/read-pdf.js';
import { differenceText } from '../../src/report/phrases/verify.js';
import { firstDifference } from '../../src/verify/first-difference.js';
import type { VerifyReport } from '../../src/verify/report.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { makeCell, temporaryFolder } from '../support/cell.js';
import { insideAttachment } from '../support/pdf-tampering.js';
import { servicesWith } from '../support/record-content.js';
import type { Services } from '../support/services.js';

let services: Services;
let record: string;
let bytes: Buffer;

beforeAll(async () => {
  services = await servicesWith(makeCell());
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

it('finds nothing wrong with the record as issued, and says what it could not check', async () => {
  const report = await verifyBytes(bytes);
  expect(report.answer).toBe('issuer not compared');
  expect(report.steps.filter((step) => step.outcome === 'not checked').map((step) => step.step)).toEqual([
    'seal',
    'signatures',
    'first page',
    'evidence',
    'key',
    'earlier records',
  ]);
});

it.each(['results.csv', 'dossier.json', 'assessment.json'])('names %s when it was altered', async (name) => {
  const report = await verifyBytes(await insideAttachment(bytes, name));
  expect(report.answer).toBe('altered');
  expect(failed(report)).toEqual([
    expect.objectContaining({
      step: 'attachments',
      code: 'attachment altered',
      facts: expect.objectContaining({ name }),
    }),
  ]);
});

it('names the enclosure when it was altered', async () => {
  const report = await verifyBytes(await insideAttachment(bytes, 'enclosure.json'));
  expect(failed(report)).toEqual([expect.objectContaining({ step: 'enclosure' })]);
});

it('notices bytes appended after the end, as an added page would be', async () => {
  const report = await verifyBytes(Buffer.concat([bytes, Buffer.from('\n% something more\n')]));
  expect(report.answer).toBe('saved again');
});

it('notices a property changed in place', async () => {
  const at = bytes.indexOf('Invented plate');
  expect(at).toBeGreaterThan(0);
  const changed = Buffer.from(bytes);
  changed.write('Unvented', at);
  expect((await verifyBytes(changed)).answer).toBe('altered');
});

it('refuses a file that was cut', async () => {
  const report = await verifyBytes(bytes.subarray(0, bytes.length / 2));
  expect(failed(report)).toEqual([expect.objectContaining({ step: 'file' })]);
});

it('refuses what is no record', async () => {
  await expect(verifyRecord('/nowhere/record.pdf')).rejects.toMatchObject({ code: 'BAD_INPUT' });
});

it('names evidence that is missing, and scans logs again where they are there', async () => {
  const whole = await verifyRecord(record, { evidence: services.store.folder.evidence });
  expect(whole.steps).toContainEqual(expect.objectContaining({ step: 'log', of: 'M1-101', outcome: 'holds' }));
  const report = await verifyRecord(record, { evidence: temporaryFolder('empty') });
  expect(report.answer).toBe('altered');
  expect(failed(report)[0]).toMatchObject({
    code: 'evidence missing',
    facts: { files: expect.arrayContaining([expect.stringContaining('run.csv')]) },
  });
});

it('names the first difference, to one unit of the ninth digit', () => {
  const difference = firstDifference({ a: [1, { b: 2 }] }, { a: [1, { b: 3 }] });
  expect(difference).toEqual({ place: 'a[1].b', attached: '2', again: '3' });
  expect(differenceText(difference!)).toBe('a[1].b: 2 attached, 3 computed again');
  expect(firstDifference(1.234567891, 1.234567892)).toBeUndefined();
  expect(firstDifference(1.23456, 1.23457)).toBeDefined();
  expect(firstDifference({ a: 1 }, {})).toEqual({ place: 'a', attached: '1', again: null });
  expect(differenceText(firstDifference({ a: 1 }, {})!)).toBe('a: 1 attached, nothing computed again');
});

it('carries every attachment with the digest that the enclosure states', async () => {
  const { attachments } = await readPdf(bytes);
  const enclosure = JSON.parse(Buffer.from(attachments.get('enclosure.json')!).toString('utf8'));
  expect(canonicalJson(enclosure)).toBe(Buffer.from(attachments.get('enclosure.json')!).toString('utf8'));
  for (const { name, sha256 } of enclosure.attachments) expect(sha256Hex(attachments.get(name)!)).toBe(sha256);
  expect(enclosure.attachments.length + 1).toBe(attachments.size);
});
