import fs from 'node:fs';
import path from 'node:path';
import { deserialize, serialize } from 'node:v8';
import { canonicalJson, digestOf } from '../../src/dossier/canonical.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import type { RecordIssue } from '../../src/records/enclosure.js';
import type { RecordContent } from '../../src/records/render-record.js';
import { standardTemplateText } from '../../src/report/standard-template.js';
import { type Cell, makeCell, makeCellWithHistory, siteOf, temporaryFolder, writeCell } from './cell.js';
import { atMoment, SITE_DAY } from './clock-ahead.js';
import { openServices, type Services } from './services.js';
import { copyOfTemplate, template } from './template.js';

/** A data folder of its own with an invented cell in it, taken in once a run; close its store afterwards. */
export async function servicesWith(cell: Cell = makeCellWithHistory()): Promise<Services> {
  const data = path.join(temporaryFolder('data'), 'data');
  await copyOfTemplate(`taken-in-${digestOf(cell)}`, (made) => takeIn(cell, made), data);
  return openServices(data);
}

async function takeIn(cell: Cell, data: string): Promise<void> {
  const services = await openServices(data);
  await atMoment(SITE_DAY, () => services.intake.run(writeCell(siteOf(cell)), 'local:tester'));
  await services.intake.run(writeCell(cell), 'local:tester');
  // A lot is in the history of its family from the day on which it was assessed.
  const lots = (await services.store.read.entries.list('lot')).map(({ key }) => key);
  for (const lot of lots.filter((code) => code.startsWith('L-0'))) await services.assessor.assess(lot, 'local:tester');
  await services.store.close();
}

/** A lot of an invented cell, assessed once a run. */
export async function assessedLot(cell: Cell = makeCell(), code = 'L-1'): Promise<AssessedLot> {
  const folder = await template(`assessed-${digestOf(cell)}`, async (made) => {
    const services = await servicesWith(cell);
    try {
      const lot = await services.assessor.assess(code, 'local:tester');
      fs.mkdirSync(made);
      fs.writeFileSync(path.join(made, 'lot'), serialize(lot));
    } finally {
      await services.store.close();
    }
  });
  return deserialize(fs.readFileSync(path.join(folder, 'lot')));
}

/** The issue of a draft that nobody signed, at a fixed time. */
export function draftIssue(more: Partial<RecordIssue> = {}): RecordIssue {
  return {
    record: { number: 'LR-L-1', revision: 1, draft: true },
    program: 'Lotwright (test)',
    node: '20.0.0',
    printedAt: '2031-05-04T10:00:00.000Z',
    printedOffset: '+02:00',
    printedBy: 'local:tester',
    signatures: [],
    states: [],
    keys: [],
    people: [],
    ledger: { size: 3, root: 'ab'.repeat(32), checkpoint: null, proofs: [] },
    seal: null,
    earlier: [],
    supersedes: null,
    changes: [],
    forCase: null,
    ...more,
  };
}

export function contentOf(assessed: AssessedLot, issue: Partial<RecordIssue> = {}): RecordContent {
  return {
    dossierText: assessed.dossierText,
    parts: assessed.parts,
    assessmentText: canonicalJson(assessed.assessment),
    templateText: standardTemplateText(),
    issue: draftIssue(issue),
  };
}
