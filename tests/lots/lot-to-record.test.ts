import fs from 'node:fs';
import path from 'node:path';
import { DataFolder } from '../../src/store/data-folder.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';
import { signWhatCameIn } from '../support/sign-cell.js';

describe('from a folder to a PDF that verifies', () => {
  let services: Services;
  let cellFolder: string;

  beforeAll(async () => {
    cellFolder = writeCell(makeCellWithHistory());
    // Documents are signed before the first chamber closes.
    const folder = DataFolder.createDemo(path.join(temporaryFolder('data'), 'data'), '2031-01-20T12:00:00Z');
    services = await openServices(folder);
    await services.intake.run(path.join(cellFolder, 'site'), 'local:tester');
    await signWhatCameIn(services);
    folder.advanceTo('2031-03-04T12:00:00Z');
    await services.intake.run(cellFolder, 'local:tester');
    await signWhatCameIn(services);
  });
  afterAll(() => services.store.close());

  it('takes the same folder in again and changes nothing', async () => {
    const before = await services.store.read.ledger.size();
    const report = await services.intake.run(cellFolder, 'local:tester');
    expect(report).toMatchObject({ documents: [], results: { recorded: 0, corrections: 0 }, logs: [] });
    expect(await services.store.read.ledger.size()).toBe(before);
  });

  it('proposes that both implants conform, with nothing in the way', async () => {
    const { assessment } = await services.assessor.assess('L-1', 'local:tester');
    expect(assessment.units.flatMap((unit) => unit.why)).toEqual([]);
    expect(assessment.units.map((unit) => unit.verdict)).toEqual(['conforms', 'conforms']);
    expect(assessment.releasable).toEqual(['L-1-I1', 'L-1-I2']);
    const outcomes = new Set(assessment.checks.map((check) => check.outcome));
    expect([...outcomes].filter((outcome) => outcome !== 'does not apply')).toEqual(['passes']);
  });

  it('freezes the same facts into the same lot file, and stores nothing the second time', async () => {
    const first = await services.assessor.assess('L-1', 'local:tester');
    const size = await services.store.read.ledger.size();
    const second = await services.assessor.assess('L-1', 'local:tester');
    expect(second.dossierSha256).toBe(first.dossierSha256);
    expect(await services.store.read.ledger.size()).toBe(size);
  });

  it('lets one of two who issue at once through, with its own file, and leaves nothing beside', async () => {
    const settled = await Promise.allSettled([1, 2].map(() => services.issuer.issue('L-1', 'local:tester')));
    const issued = settled.filter((item) => item.status === 'fulfilled');
    expect(issued.length).toBeGreaterThan(0);
    for (const item of settled) {
      if (item.status === 'rejected') expect(item.reason).toMatchObject({ code: 'CONFLICT' });
    }
    await expect(services.issuer.issued('L-1')).resolves.toMatchObject({ number: 'LR-L-1' });
    expect(fs.readdirSync(services.store.folder.records).filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  it('writes a record that verifies', async () => {
    const issued = await services.issuer.issue('L-1', 'local:tester');
    const report = await verifyRecord(issued.file, { evidence: services.store.folder.evidence });
    expect(report.steps.filter((step) => step.outcome === 'does not hold')).toEqual([]);
    expect(report.answer).toBe('issuer not compared');
  });
});
