import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import type { VerifyReport } from '../../src/verify/report.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { flipped } from '../support/pdf-tampering.js';
import { SmallInstallation } from '../support/sealed-record.js';
import { openServices } from '../support/services.js';

const CLI = path.resolve('dist/cli.js');

/**
 * The compiled command in a process of its own. The record comes from the sources, which are another build: what a
 * stranger with a later version does.
 */
function verify(bytes: Buffer, ...options: string[]): { code: number | null; out: string; report: VerifyReport } {
  const file = path.join(temporaryFolder('command'), 'record.pdf');
  fs.writeFileSync(file, bytes);
  const run = (...more: string[]) =>
    spawnSync(process.execPath, [CLI, 'verify', file, ...options, ...more], { encoding: 'utf8' });
  const { status, stdout, stderr } = run();
  const json = run('--json').stdout;
  return { code: status, out: stdout + stderr, report: JSON.parse(json || 'null') };
}

describe('the command that verifies', () => {
  const installation = new SmallInstallation();
  let lot: AssessedLot;
  let bytes: Buffer;

  const issued = async (assessed: AssessedLot, program?: string) => {
    const issue = installation.issueOf(assessed, 1, [installation.signed(assessed, 'released', 'Rolf')]);
    return (await installation.render(assessed, program === undefined ? issue : { ...issue, program })).bytes;
  };

  beforeAll(async () => {
    const services = await openServices(path.join(temporaryFolder('data'), 'data'));
    await services.intake.run(writeCell(makeCell()), 'local:tester');
    lot = await services.assessor.assess('L-1', 'local:tester');
    await services.store.close();
    bytes = await issued(lot);
  });

  it('ends with 0 for an unaltered record, and says that this is not the same as true', () => {
    const { code, out, report } = verify(bytes, '--key', installation.fingerprint);
    expect(code).toBe(0);
    expect(out).toContain('not the same as true, complete or released');
    expect(report.steps).toContainEqual(expect.objectContaining({ step: 'key', outcome: 'holds' }));
    expect(report.steps).toContainEqual(expect.objectContaining({ step: 'pages', outcome: 'not checked' }));
  });

  it('ends with 6 for an altered one, and names the seal although it drew no page', () => {
    const { code, out, report } = verify(flipped(bytes, bytes.indexOf('/Rect [0 0 0 0]') + 6));
    expect(code).toBe(6);
    expect(out).toContain('ALTERED');
    expect(report.steps).toContainEqual(expect.objectContaining({ step: 'seal', outcome: 'does not hold' }));
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
    const { code, out } = verify(await issued(other, program));
    expect(code).toBe(8);
    expect(out).toContain(`${unit!.serial}: does not conform; this version: ${unit!.verdict}`);
  });

  it('ends with 2 for a fingerprint that is none, and for no file', () => {
    expect(verify(bytes, '--key', 'abc')).toMatchObject({ code: 2, out: expect.stringContaining('64 hexadecimal') });
    expect(spawnSync(process.execPath, [CLI, 'verify', '/nowhere.pdf']).status).toBe(2);
  });
});
