import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { deflateSync } from 'node:zlib';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import type { VerifyReport } from '../../src/verify/report.js';
import { temporaryFolder } from '../support/cell.js';
import { issuedLot } from '../support/issued-lot.js';
import { flipped } from '../support/pdf-tampering.js';
import { SmallInstallation } from '../support/sealed-record.js';

const CLI = path.resolve('bundle/cli.js');

/**
 * The compiled command in a process of its own. The record comes from the sources, which are another build: what a
 * stranger with a later version does.
 */
function verify(
  bytes: Buffer,
  ...options: string[]
): { code: number | null; out: string; report(): VerifyReport & { byInstallationAlone: string[] } } {
  const file = path.join(temporaryFolder('command'), 'record.pdf');
  fs.writeFileSync(file, bytes);
  const run = (...more: string[]) =>
    spawnSync(process.execPath, [CLI, 'verify', file, ...options, ...more], { encoding: 'utf8' });
  const { status, stdout, stderr } = run();
  return { code: status, out: stdout + stderr, report: () => JSON.parse(run('--json').stdout) };
}

describe('the command that verifies', () => {
  let lot: AssessedLot;
  let installation: SmallInstallation;
  let bytes: Buffer;

  beforeAll(async () => {
    const issued = await issuedLot();
    ({ lot, installation } = issued);
    bytes = issued.first.bytes;
  });

  it('ends with 0 for an unaltered record, and says that this is not the same as true', () => {
    const { code, out, report } = verify(bytes, '--key', installation.fingerprint);
    expect(code).toBe(0);
    expect(out).toContain('not the same as true, complete or released');
    // What no key of a person signed is named, and of a record that its roles are so.
    expect(out).toMatch(
      /signed by the key of no person:\n {2}who held which role.*\n {2}that nothing came after the last statement/,
    );
    const { steps, byInstallationAlone } = report();
    expect(byInstallationAlone).toContainEqual(expect.stringMatching(/^holds that the program places/));
    expect(steps).toContainEqual(expect.objectContaining({ step: 'key', outcome: 'holds' }));
    expect(steps).toContainEqual(expect.objectContaining({ step: 'pages', outcome: 'not checked' }));
  });

  it('ends with 6 for an altered one, and names the seal although it drew no page', () => {
    const { code, out, report } = verify(flipped(bytes, bytes.indexOf('/Rect [0 0 0 0]') + 6));
    expect(code).toBe(6);
    expect(out).toContain('ALTERED');
    expect(report().byInstallationAlone).toEqual([]);
    expect(report().steps).toContainEqual(expect.objectContaining({ step: 'seal', outcome: 'does not hold' }));
  });

  it('ends with 8 for an honest one that it assesses differently, and shows both', async () => {
    const [unit, ...units] = lot.assessment.units;
    const program = 'Lotwright 0.0.1 (build 0)';
    const assessment = {
      ...lot.assessment,
      version: '0123456789ab',
      units: [{ ...unit!, verdict: 'does not conform' as const }, ...units],
    };
    const other = { ...lot, assessment, assessmentSha256: sha256Hex(canonicalJson(assessment)) };
    const issue = { ...installation.issueOf(other, 1, [installation.signed(other, 'released', 'Rolf')]), program };
    const { code, out } = verify((await installation.render(other, issue)).bytes);
    expect(code).toBe(8);
    expect(out).toMatch(
      new RegExp(
        `${unit!.serial}: released for distribution by Rolf .*\\(does not conform; this version: ${unit!.verdict}\\)`,
      ),
    );
  });

  it('ends with 0 where the audit trail has an entry of a type that only a later version knows, and names it', async () => {
    const other = new SmallInstallation();
    other.append({ type: 'shelf-counted', shelf: 'S-1' } as never);
    const { bytes: record } = await other.render(lot, other.issueOf(lot, 1, [other.signed(lot, 'released', 'Rolf')]));
    const { code, out } = verify(record);
    expect(code).toBe(0);
    expect(out).toContain('of types that only a later version knows: shelf-counted');
  });

  it('ends with 8 for a statement with a meaning that only a later version knows, and names it', async () => {
    const other = new SmallInstallation();
    const signed = other.signed(lot, 'witnessed' as never, 'Rolf');
    const { code, out } = verify((await other.render(lot, other.issueOf(lot, 1, [signed]))).bytes);
    expect(code).toBe(8);
    expect(out).toContain('signatures[0].statement.meaning "witnessed"');
    expect(out).not.toContain('ALTERED');
  });

  it('ends with 2 for a fingerprint that is none, and for no file', () => {
    expect(verify(bytes, '--key', 'abc')).toMatchObject({ code: 2, out: expect.stringContaining('64 hexadecimal') });
    expect(spawnSync(process.execPath, [CLI, 'verify', '/nowhere.pdf']).status).toBe(2);
  });

  it('ends with 9 for a record of another issuer than the key given', () => {
    const { code, out } = verify(bytes, '--key', 'ab'.repeat(32));
    expect(code).toBe(9);
    expect(out).toMatch(/^OF ANOTHER ISSUER/);
  });

  it.each([
    // What a page draws is not unpacked to tell it from a record.
    ['a page', 'no record of this program', () => pdfOf([CATALOGUE, PAGES, PAGE, packed('')])],
    [
      'an attachment',
      'unpacked it comes to more than a record may',
      () =>
        pdfOf([
          CATALOGUE,
          PAGES,
          PAGE,
          packed('/Type /EmbeddedFile'),
          '<< /Type /Filespec /UF (a) /EF << /F 4 0 R >> >>',
        ]),
    ],
    ['its own objects', 'unpacked it comes to more than a record may', () => objectsPacked()],
  ])('ends with 2 within its bounds for a PDF that unpacks to far more than it is, by %s', (_, words, make) => {
    const file = path.join(temporaryFolder('bomb'), 'record.pdf');
    fs.writeFileSync(file, make());
    const run = bounded(file);
    expect(run).toEqual({ code: 2, out: expect.stringContaining(words) });
  });

  it.each<[string, (file: string) => void, number, string]>([
    ['3 GB that nothing is read of', (file) => grown(file, '%PDF-1.7\n', 3072), 2, 'it has 3072 MB, and no record'],
    ['a record before as much as one may have', (file) => grown(file, bytes, 63), 6, 'were added behind the end'],
  ])('tells %s within its bounds', (_, make, code, words) => {
    const file = path.join(temporaryFolder('huge'), 'record.pdf');
    make(file);
    expect(bounded(file)).toEqual({ code, out: expect.stringContaining(words) });
  });
});

/** A sparse file of so many MB that begins so. */
function grown(file: string, head: string | Buffer, megabytes: number): void {
  fs.writeFileSync(file, head);
  fs.truncateSync(file, megabytes * 2 ** 20);
}

/** What the command says of a file in less than 500 MB of memory. */
function bounded(file: string): { code: number | null; out: string } {
  const told = "process.on('exit', () => console.error('peak', process.resourceUsage().maxRSS))";
  const options = ['--import', `data:text/javascript,${told}`, CLI, 'verify', file];
  const { status, stdout, stderr } = spawnSync(process.execPath, options, { encoding: 'utf8' });
  expect(Number(/peak (\d+)/.exec(stderr)![1])).toBeLessThan(500_000);
  return { code: status, out: stdout };
}

const CATALOGUE = '<< /Type /Catalog /Pages 2 0 R >>';
const PAGES = '<< /Type /Pages /Kids [3 0 R] /Count 1 >>';
const PAGE = '<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] /Contents 4 0 R >>';

let zeros: string | undefined;

/** A stream that is a thousand times larger unpacked. */
function packed(entries: string): string {
  zeros ??= deflateSync(Buffer.alloc(320 << 20), { level: 1 }).toString('latin1');
  return `<< ${entries} /Filter /FlateDecode /Length ${zeros.length} >>\nstream\n${zeros}\nendstream`;
}

function pdfOf(objects: readonly string[]): Buffer {
  let text = '%PDF-1.7\n';
  const places = objects.map((object, index) => {
    const at = text.length;
    text += `${index + 1} 0 obj\n${object}\nendobj\n`;
    return `${String(at).padStart(10, '0')} 00000 n \n`;
  });
  const size = objects.length + 1;
  const trailer = `trailer\n<< /Size ${size} /Root 1 0 R >>\nstartxref\n${text.length}\n%%EOF\n`;
  return Buffer.from(`${text}xref\n0 ${size}\n0000000000 65535 f \n${places.join('')}${trailer}`, 'latin1');
}

/** Catalogue and pages are said to stand in a stream of objects (ISO 32000-1, 7.5.7), which holds nothing but zeros. */
function objectsPacked(): Buffer {
  const head = '%PDF-1.5\n';
  const stream = `4 0 obj\n${packed('/Type /ObjStm /N 2 /First 8')}\nendobj\n`;
  const at = head.length + stream.length;
  const row = (type: number, place: number, index: number): Buffer => {
    const bytes = Buffer.alloc(7);
    bytes.writeUInt8(type, 0);
    bytes.writeUInt32BE(place, 1);
    bytes.writeUInt16BE(index, 5);
    return bytes;
  };
  const rows = [row(0, 0, 65_535), row(2, 4, 0), row(2, 4, 1), row(1, at, 0), row(1, head.length, 0)];
  const table = deflateSync(Buffer.concat(rows)).toString('latin1');
  const entries = `/Type /XRef /Size 5 /W [1 4 2] /Root 1 0 R /Filter /FlateDecode /Length ${table.length}`;
  const end = `3 0 obj\n<< ${entries} >>\nstream\n${table}\nendstream\nendobj\nstartxref\n${at}\n%%EOF\n`;
  return Buffer.from(head + stream + end, 'latin1');
}
