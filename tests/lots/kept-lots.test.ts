import Database from 'better-sqlite3';
import { checkIntegrity, checkIntegrityAndRecord } from '../../src/custody/integrity.js';
import { DesignAnswers } from '../../src/design-file/design-answers.js';
import { DesignFiles } from '../../src/design-file/design-files.js';
import { KeptAnswers } from '../../src/desk/today/kept-answers.js';
import { FamilyStudies } from '../../src/lots/family-studies.js';
import { KeptLots } from '../../src/lots/kept-lots.js';
import { LINE_VIEW } from '../../src/lots/line-view.js';
import { type LotLine, make } from '../../src/lots/lot-line.js';
import { makeKept } from '../../src/lots/make-kept.js';
import { folderFaultText } from '../../src/report/phrases/stored-faults.js';
import { KeptSignatures } from '../../src/signing/kept-signatures.js';
import type { LotSigning } from '../../src/signing/lot-ahead.js';
import { SIGNATURES_VIEW } from '../../src/signing/signatures-view.js';
import { WaitingList } from '../../src/signing/waiting-list.js';
import type { Reads } from '../../src/store/repositories.js';
import { tracked } from '../../src/store/tracked-reads.js';
import { addLot, writeCell } from '../support/cell.js';
import { load } from '../support/documents/loads.js';
import { SigningCell } from '../support/signing-cell.js';

const ACTOR = 'local:tester';
const WHY = 'invented';
const ZEROS = '0'.repeat(64);
let cell: SigningCell;
let kept: KeptLots<LotLine>;
let signatures: KeptLots<LotSigning>;
let waiting: WaitingList;
let answers: KeptAnswers;

beforeAll(async () => {
  cell = await SigningCell.open((made) => addLot(made, 'L-2', 102, '2031-03-04', { rm: 230, thickness: 1.5 }));
  kept = new KeptLots(cell.services.store, LINE_VIEW);
  signatures = new KeptLots(cell.services.store, SIGNATURES_VIEW);
  [waiting, answers] = [waitingNow(), answersNow()];
});
afterAll(() => cell.close());

const waitingNow = () =>
  new WaitingList(cell.services.store, cell.services.accounts, new KeptSignatures(cell.services.store));
const answersNow = () => {
  const { store } = cell.services;
  return new KeptAnswers(store, new FamilyStudies(store), new DesignAnswers(store, new DesignFiles(store)));
};
/** What pages ask of all documents of some kinds. */
const asked = async (list: WaitingList, kept: KeptAnswers) => ({
  waiting: (await list.told()).values,
  nonconformities: await kept.nonconformities(),
  corrective: await kept.corrective(),
  cases: await kept.cases(),
  gaps: await kept.gaps(),
  signals: await kept.signals(),
  ending: await kept.ending(),
});

type Documents = SigningCell['cell']['documents'];

const take = (document: object) => cell.services.intake.take([{ file: 'made.yaml', document: { ...document } }], ACTOR);
async function change(spoil: (documents: Documents) => void): Promise<void> {
  spoil(cell.cell.documents);
  writeCell(cell.cell, cell.root);
  await cell.services.intake.run(cell.root, ACTOR);
}
const prove = () => cell.prove('P-QE');
const assess = (lot: string) => cell.services.assessor.assess(lot, ACTOR);

const NONCONFORMITY = {
  ...{ kind: 'nonconformity', format: 1, nonconformity: 'NC-1', says: 'a scratch (invented)' },
  ...{ opened: { by: 'P-OP', at: '2031-03-05T10:00:00+01:00' }, touches: [{ kind: 'implant', key: 'L-1-I1' }] },
};
const BOTH = ['L-1', 'L-2'];

/** What is done to the cell, one after the other, and the lots whose lines it touches. */
const ACTS: readonly (readonly [what: string, act: () => Promise<unknown>, touched: readonly string[]])[] = [
  ['a lot is assessed', () => assess('L-1'), ['L-1']],
  ['the other is assessed', () => assess('L-2'), ['L-2']],
  [
    'a load names parts, and no step names the load',
    () => take(load('LD-9', 'clean', '04', ['08:00', '09:00'])),
    ['L-1'],
  ],
  [
    'a load names other parts after that',
    () => take(load('LD-10', 'clean', '04', ['08:00', '09:00'], ['L-2'])),
    ['L-2'],
  ],
  ['a nonconformity of whatever is opened', () => take(NONCONFORMITY), BOTH],
  [
    'an instrument of both is calibrated',
    () =>
      change((documents) => {
        const { calibrations } = documents['site/instruments/rig.yaml']!;
        calibrations.push({ ...calibrations.at(-1), certificate: 'K-2' });
      }),
    BOTH,
  ],
  [
    'a lot says more of a step',
    () =>
      change((documents) => {
        documents['lots/L-2/lot.yaml']!.steps[0].note = 'twice (invented)';
      }),
    ['L-2'],
  ],
  [
    'a person in both is trained',
    () =>
      change((documents) => {
        documents['site/people/analyst.yaml']!.qualifications.push({ operation: 'TM-X', from: '2031-03-01' });
      }),
    BOTH,
  ],
  [
    'a document of both is withdrawn',
    async () => {
      const document = { kind: 'method', key: 'TM-T', revision: 1 };
      await cell.services.stateActs.withdrawDocument(await prove(), document, WHY);
    },
    BOTH,
  ],
  [
    'both are assessed again',
    async () => {
      for (const lot of BOTH) await assess(lot);
    },
    BOTH,
  ],
  ['a lot is reviewed', () => cell.review('L-1'), ['L-1']],
  ['an implant is held', async () => cell.services.stateActs.placeHold(await prove(), 'L-1', ['L-1-I2'], WHY), ['L-1']],
  ['the hold is lifted', async () => cell.services.stateActs.liftHold(await prove(), 'L-1', ['L-1-I2'], WHY), ['L-1']],
  ['an implant is rejected', () => cell.reject('L-1', ['L-1-I1'], WHY), ['L-1']],
  ['everything is checked', async () => void (await checkIntegrityAndRecord(cell.services.store, ACTOR)), []],
];

async function holds(act: () => Promise<unknown>, touched: readonly string[]): Promise<void> {
  await kept.all();
  await asked(waiting, answers);
  await act();
  // What counts as true is true, before anything is made anew.
  expect(await kept.differing()).toEqual([]);
  expect(await signatures.differing()).toEqual([]);
  expect(await kept.behind()).toEqual(touched);
  await signatures.all();
  const lines = (await kept.all()).sort((a, b) => (a.lot < b.lot ? -1 : 1));
  expect(await kept.behind()).toEqual([]);
  const fresh = await Promise.all(BOTH.map((lot) => make(cell.services.store.read, lot)));
  expect(lines).toEqual(JSON.parse(JSON.stringify(fresh.map(({ value }) => value))));
  expect(await asked(waiting, answers)).toEqual(await asked(waitingNow(), answersNow()));
}

describe('what is kept of a lot', () => {
  it.each(ACTS)('holds after %s', (_, ...act) => holds(...act));
});

describe('a view that is kept', () => {
  const read = () => cell.services.store.read;
  const outside = (statement: string) => {
    const db = new Database(cell.folder.database);
    db.exec(statement);
    db.close();
  };

  const rename = (from: string, to: string) =>
    `UPDATE "KeptView" SET "body" = replace("body", '"${from}":', '"${to}":') WHERE "lot" = 'L-2'`;

  it('is made anew where changes were made that marked nothing', async () => {
    await kept.all();
    outside('UPDATE "LedgerLock" SET "keptTo" = "keptTo" - 1');
    expect(await read().keptViews.isWhole()).toBe(false);
    expect(await kept.behind()).toEqual(BOTH);
    expect(await read().keptViews.isWhole()).toBe(true);
  });

  // As the test before left it, all is behind.
  it('is not kept when somebody writes while it is made', async () => {
    const whileOthersWrite = async (reads: Reads, lot: string) => {
      const made = await make(reads, lot);
      await cell.services.stateActs.placeLegalHold(await prove(), lot, WHY);
      return made;
    };
    const view = { ...LINE_VIEW, load: async () => ({ make: whileOthersWrite }) };
    const made = await makeKept(cell.services.store, view, ['L-2']);
    expect(made.get('L-2')).toMatchObject({ lot: 'L-2' });
    expect(await kept.behind()).toEqual(BOTH);
  });

  it('is named by the check of everything where it does not follow from the rest', async () => {
    await kept.all();
    outside(rename('outOfDate', 'outOfTime'));
    const faults = (await checkIntegrity(cell.services.store)).faults;
    expect(faults.map(({ what, name, fault }) => `${what} ${name} ${folderFaultText(fault)}`)).toEqual([
      'kept-view L-2 is kept for lists otherwise than it follows from what is recorded of the lot',
    ]);
    outside(rename('outOfTime', 'outOfDate'));
  });

  it('rests on no question of which nobody says what its answer rests on', () => {
    const { reads } = tracked(read());
    expect(() => reads.entries.takers('implant', 'L-1-I1')).toThrow('entries: nothing says what the answer to takers');
    expect(() => reads.trail).toThrow('trail: nothing says');
  });
});

// The file of the record is nowhere, so this comes after the check of everything.
it('holds after a record is issued', async () => {
  const record = { number: 'LR-L-1', revision: 1, lot: 'L-1', dossierDigest: ZEROS, fileSha256: ZEROS };
  const enclosure = JSON.stringify({ record: { draft: true, final: false } });
  const { store } = cell.services;
  await holds(() => store.change(ACTOR, ({ records }) => records.add({ ...record, enclosure })), ['L-1']);
});
