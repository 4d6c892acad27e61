import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { stringify } from 'yaml';
import { programName } from '../../src/base/settings.js';
import { verifyText } from '../../src/report/phrases/verify.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { addLot, logText, temporaryFolder, writeCell } from '../support/cell.js';
import { runCommand } from '../support/run-command.js';
import { openServices } from '../support/services.js';
import { SigningCell } from '../support/signing-cell.js';
import { MARK } from '../support/word-mark.js';
import { type Ended, GrownProgram } from './grown-program.js';

/*
 * A later version of the program on the data and the records of this one. L-B is released, after L-A of its family; L-1 is
 * open; L-C comes in with the later version.
 */
const CLOSED = 'L-B';

let cell: SigningCell;
let data: string;
let record: string;
let key: string;
/** What this version says of the closed lot. */
let before: { lotFile: string; status: Record<string, unknown>; entries: number };
let ended: Record<string, Ended>;

beforeAll(async () => {
  cell = await SigningCell.open((made) => {
    addLot(made, 'L-A', 100, '2031-03-02', { rm: 231, thickness: 1.5 });
    addLot(made, CLOSED, 201, '2031-03-03', { rm: 230, thickness: 1.5 });
    made.files[`lots/${CLOSED}/logs/run.csv`] = logText('2031-03-03', () => 9);
  });
  const { services } = cell;
  await services.assessor.assess('L-1', 'local:tester');
  await services.assessor.assess(CLOSED, 'local:tester');
  await cell.review(CLOSED);
  await cell.release(CLOSED, [`${CLOSED}-I1`, `${CLOSED}-I2`]);
  record = (await services.issuer.issue(CLOSED, 'local:tester')).file;
  key = services.store.key.fingerprint;
  data = cell.folder.path;
  const entries = await services.store.read.ledger.size();
  const lotFile = (await services.store.read.lotFiles.latest(CLOSED))!.digest;
  before = { lotFile, status: statusOf(JSON.parse((await runCommand(data, ['--json', 'status'])).text)), entries };
  await cell.close();
  const grown = GrownProgram.make(path.join(temporaryFolder('grown'), 'program'));
  const commands = {
    offline: ['verify', record, '--key', key],
    'with evidence': ['verify', record, '--key', key, '--evidence', path.join(data, 'evidence')],
    opened: ['ledger', 'verify', '--evidence'],
    again: ['intake', cell.root],
    afterwards: ['ledger', 'verify'],
    'check of the folder': ['check'],
    closed: ['assess', CLOSED],
    status: ['status'],
    open: ['assess', 'L-1'],
    further: ['intake', furtherLot()],
    new: ['assess', 'L-C'],
    'closed afterwards': ['assess', CLOSED],
    record: ['record', 'L-C'],
    'record of the closed one': ['record', CLOSED],
    ledger: ['ledger', 'verify'],
  };
  const found = grown.run(data, Object.values(commands));
  ended = Object.fromEntries(Object.keys(commands).map((name, index) => [name, found[index]!]));
});

/** A lot that says what only the later version knows, beside a supplier in its next format. */
function furtherLot(): string {
  const made = { ...cell.cell, documents: { ...cell.cell.documents } };
  addLot(made, 'L-C', 301, '2031-03-04', { rm: 230, thickness: 1.5 });
  Object.assign(made.documents['lots/L-C/lot.yaml']!, { remark: 'calm' });
  const folder = writeCell(made);
  const supplier = { kind: 'supplier', format: 2, supplier: 'S2', title: 'Invented Gases', country: 'Nowhere' };
  fs.writeFileSync(path.join(folder, 'site', 'supplier-2.yaml'), stringify(supplier));
  return folder;
}

const statusOf = (answer: Record<string, unknown>): Record<string, unknown> =>
  (answer.lots as Record<string, unknown>[]).find(({ lot }) => lot === CLOSED)!;

/** A lot file as it is stored. */
function storedLotFile(digest: unknown): { format: number; parts: { name: string; format: number }[] } {
  const database = new Database(path.join(data, 'lotwright.sqlite'), { readonly: true });
  try {
    const row = database.prepare('SELECT body FROM Dossier WHERE digest = ?').get(digest) as { body: string };
    return JSON.parse(row.body);
  } finally {
    database.close();
  }
}

const checkOf = ({ answer }: Ended, code: string) =>
  (answer.checks as { code: string; outcome: string }[]).find((check) => check.code === code);
const outcomes = ({ answer }: Ended) =>
  (answer.steps as { step: string; outcome: string }[]).map((step) => step.outcome);

describe('a later version', () => {
  it('finds a sealed record of this one unaltered, offline and with the evidence beside it', () => {
    for (const name of ['offline', 'with evidence']) {
      expect(ended[name]).toMatchObject({ code: 0, answer: { answer: 'as issued' } });
      expect(outcomes(ended[name]!)).not.toContain('differs');
    }
  });

  it('opens a data folder of this one, and finds all of it as it was stored', () => {
    // One entry more: that its status was read.
    expect(ended.opened).toMatchObject({ code: 0, answer: { ok: true, size: before.entries + 1, faultCount: 0 } });
    expect(ended['check of the folder']!.code).toBe(0);
  });

  it('takes the same folder in again and changes nothing', () => {
    expect(ended.again).toMatchObject({ code: 0, answer: { documents: [], results: { recorded: 0 } } });
    expect(ended.afterwards!.answer.size).toBe(before.entries + 1);
  });

  it('leaves lot file, standing and verdicts of a closed lot as they were', () => {
    expect(ended.closed).toMatchObject({ code: 0, answer: { dossier: before.lotFile } });
    expect(checkOf(ended.closed!, 'lot-remarked')).toBeUndefined();
    const { state, ...status } = statusOf(ended.status!.answer);
    expect({ ...status, state: String(state).replaceAll(MARK, '') }).toEqual(before.status);
    expect(ended['closed afterwards']).toMatchObject({ code: 0, answer: { dossier: before.lotFile } });
    const { format, parts } = storedLotFile(before.lotFile);
    expect([format, ...parts.map((part) => part.format)]).toEqual([
      1,
      ...parts.map(({ name }) => (name === 'results.csv' ? 2 : 1)),
    ]);
  });

  it('freezes an open lot anew, and asks it what it asks now', () => {
    const file = storedLotFile(ended.open!.answer.dossier);
    expect(file.format).toBe(2);
    expect(file.parts.find(({ name }) => name === 'results.csv')!.format).toBe(3);
    expect(file.parts.map(({ name }) => name)).not.toContain('remark.json');
    expect(checkOf(ended.open!, 'lot-remarked')!.outcome).toBe('fails');
    expect(ended.open!.code).toBe(3);
  });

  it('takes in what only it knows, asks a new lot the new check, and says everything otherwise', () => {
    const taken = (ended.further!.answer.documents as { kind: string; key: string }[]).map(
      ({ kind, key }) => `${kind} ${key}`,
    );
    expect(taken).toEqual(expect.arrayContaining(['supplier S2', 'lot L-C']));
    expect(taken).not.toContain('supplier S1');
    expect(checkOf(ended.new!, 'lot-remarked')!.outcome).toBe('passes');
    expect(storedLotFile(ended.new!.answer.dossier).parts.map(({ name }) => name)).toContain('remark.json');
    expect(JSON.stringify(ended.new!.answer)).toContain(MARK);
  });
});

describe('this version', () => {
  it('says of a record of a later one that it is of a later one, and not that it was altered', async () => {
    const report = await verifyRecord(String(ended.record!.answer.file));
    expect(report.answer).toBe('another version');
    expect(report.steps.filter(({ outcome }) => outcome === 'does not hold')).toEqual([]);
    expect(report.steps).toContainEqual(
      expect.objectContaining({
        step: 'lot file',
        outcome: 'not known',
        code: 'of a later version',
        facts: {
          later: ['dossier.json has format 2'],
          writer: expect.stringContaining('build'),
          program: programName(),
        },
      }),
    );
    expect(report.steps).toContainEqual(expect.objectContaining({ step: 'audit trail', outcome: 'holds' }));
  });

  it('checks all that it knows of a record in which a later one wrote a field more', async () => {
    const report = await verifyRecord(String(ended['record of the closed one']!.answer.file), { key });
    expect(report.answer).toBe('another version');
    expect(report.steps.filter(({ outcome }) => outcome === 'does not hold')).toEqual([]);
    const known = report.steps.filter(({ outcome }) => outcome === 'holds').map(({ step }) => step);
    expect(known).toEqual(
      expect.arrayContaining(['seal', 'attachments', 'lot file', 'signatures', 'audit trail', 'key']),
    );
    const later = report.steps.find(({ outcome }) => outcome === 'not known')!;
    expect(verifyText(later)).toContain('the field "printer"');
  });

  it('finds the audit trail of a later one whole, and names the types that it does not know', async () => {
    const { code, text } = await runCommand(data, ['--json', 'ledger', 'verify']);
    expect([code, JSON.parse(text)]).toMatchObject([0, { ok: true, laterTypes: ['shelf-counted'] }]);
    expect(JSON.parse(text).size).toBe(ended.ledger!.answer.size);
  });

  it('shows what a later one recorded as far as it knows it, and names an event that it cannot read', async () => {
    const services = await openServices(DataFolder.open(data));
    const { lines } = await services.auditTrail.page({}, 200);
    const acts = lines.map(({ act, subject: { kind, key } }) => `${act}: ${kind} ${key}`);
    expect(acts).toContainEqual(expect.stringMatching(/^shelf counted \(of a later version\): entry \d+$/));
    expect(acts).toContain('lamp changed: lamp L-C');
    for (const [type, says] of Object.entries({ 'lamp-changed': 'lamp-changed', 'integrity-checked': '"torch"' })) {
      const read = services.store.read.events.ofTypes([type as never]);
      await expect(read).rejects.toMatchObject({ code: 'LATER_FORM', message: expect.stringContaining(says) });
    }
    const lot = await services.store.read.entries.current('lot', 'L-C');
    expect(() => lot!.body).toThrow(
      expect.objectContaining({ code: 'LATER_FORM', message: expect.stringContaining('"remark"') }),
    );
    await services.store.close();
  });
});
