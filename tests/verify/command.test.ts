import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import type { VerifyReport } from '../../src/verify/report.js';
import { temporaryFolder } from '../support/cell.js';
import { issuedLot } from '../support/issued-lot.js';
import { flipped } from '../support/pdf-tampering.js';
import { SmallInstallation } from '../support/sealed-record.js';

const CLI = path.resolve('dist/cli.js');

/**
 * The compiled command in a process of its own. The record comes from the sources, which are another build: what a
 * stranger with a later version does.
 */
function verify(bytes: Buffer, ...options: string[]): { code: number | null; out: string; report(): VerifyReport } {
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
    const { steps } = report();
    expect(steps).toContainEqual(expect.objectContaining({ step: 'key', outcome: 'holds' }));
    expect(steps).toContainEqual(expect.objectContaining({ step: 'pages', outcome: 'not checked' }));
  });

  it('ends with 6 for an altered one, and names the seal although it drew no page', () => {
    const { code, out, report } = verify(flipped(bytes, bytes.indexOf('/Rect [0 0 0 0]') + 6));
    expect(code).toBe(6);
    expect(out).toContain('ALTERED');
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
      new RegExp(`${unit!.serial}: released by Rolf .*\\(does not conform; this version: ${unit!.verdict}\\)`),
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
});
