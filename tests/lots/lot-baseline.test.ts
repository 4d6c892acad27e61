import { Baselines } from '../../src/design-file/baselines.js';
import { DesignAnswers } from '../../src/design-file/design-answers.js';
import { DesignFiles } from '../../src/design-file/design-files.js';
import { type BaselineCourse, baselineOfLot, inForceAt } from '../../src/dossier/lot-baseline.js';
import { LOT_BASELINE } from '../../src/report/phrases/lot-baseline.js';
import { addLot } from '../support/cell.js';
import { type Editable, edited } from '../support/lot-facts.js';
import { SigningCell } from '../support/signing-cell.js';
import { addDesignHistory } from '../support/whole-history.js';

/** A cell whose design is frozen on 2031-03-05, after its first lot was built, and again on 2031-03-15; other lots come between. */
let cell: SigningCell;

async function freeze(name: string): Promise<void> {
  const { store, intake } = cell.services;
  await new Baselines(store, new DesignAnswers(store, new DesignFiles(store)), intake).freeze(
    'PLATE',
    name,
    'local:tester',
  );
  const baseline = `baseline:PLATE:${name}`;
  await cell.sign('P-PE', baseline, { meaning: 'performed' });
  await cell.sign('P-QE', baseline, { meaning: 'approved' });
}

async function build(lot: string, run: number, day: string, takenIn: string): Promise<void> {
  addLot(cell.cell, lot, run, day, { rm: 230, thickness: 1.5 });
  cell.folder.advanceTo(takenIn);
  await cell.intake();
}

const assessed = (lot: string) => cell.services.assessor.assess(lot, 'local:tester');
const baselineNow = async (lot: string) => baselineOfLot((await assessed(lot)).facts);

beforeAll(async () => {
  cell = await SigningCell.open(addDesignHistory);
  await freeze('B-1');
  await build('L-2', 102, '2031-03-10', '2031-03-12T08:00:00Z');
});
afterAll(() => cell.close());

it('is in force from its approval until another is approved, and what comes of it later changes nothing of that', () => {
  const course = (recordedAt: string, approvedAt: string | null, withdrawnAt: string | null = null) => ({
    ...{ recordedAt, approvedAt, withdrawnAt },
  });
  const all: BaselineCourse[] = [
    course('2031-01-01T08:00:00Z', '2031-01-01T10:00:00Z', '2031-03-01T00:00:00Z'),
    course('2031-02-01T08:00:00Z', '2031-02-01T10:00:00Z', '2031-02-20T00:00:00Z'),
    course('2031-02-02T08:00:00Z', null),
    // Approved elsewhere on a day before it was on record: nobody could have built by it.
    course('2031-02-25T08:00:00Z', '2031-01-15T10:00:00Z'),
  ];
  const at = (moment: string) => {
    const found = inForceAt(all, moment);
    return found === undefined ? undefined : all.indexOf(found);
  };
  const moments = [
    ...['2030-12-31T00:00:00Z', '2031-01-01T09:00:00Z', '2031-01-01T11:00:00+01:00', '2031-01-31T00:00:00Z'],
    ...['2031-02-01T10:00:00Z', '2031-02-21T00:00:00Z', '2031-02-26T00:00:00Z', '2031-03-02T00:00:00Z'],
  ];
  expect(moments.map(at)).toEqual([undefined, undefined, 0, 0, 1, 0, 3, 3]);
  expect(inForceAt([...all].reverse(), '2031-02-01T10:00:00Z')).toBe(all[1]);
});

it('stands in the lot file of what was built afterwards, with who approved it, and in no other', async () => {
  const { facts } = await assessed('L-2');
  const found = baselineOfLot(facts)!;
  expect(found.body.name).toBe('B-1');
  expect(found).toMatchObject({ approvedBy: 'P-QE', withdrawnAt: null });
  const stored = (await cell.services.store.read.entries.current('baseline', 'PLATE:B-1'))!;
  expect(found.digest).toBe(stored.digest);
  expect(LOT_BASELINE.says('PLATE', true, found)).toMatch(
    /^Design: baseline B-1 of family PLATE was in force when the first chamber was closed: \d+ documents frozen as of entry \d+ of the audit trail, approved by P-QE, 2031-03-05 12:00/,
  );
  expect(await baselineNow('L-1')).toBeUndefined();
});

it('is the same for ever: a later baseline goes to later lots, and a withdrawal is told of those that had it', async () => {
  const before = (await assessed('L-2')).dossierSha256;
  cell.folder.advanceTo('2031-03-15T08:00:00Z');
  await freeze('B-2');
  expect((await assessed('L-2')).dossierSha256).toBe(before);
  await build('L-3', 103, '2031-03-20', '2031-03-22T08:00:00Z');
  expect((await baselineNow('L-3'))!.body.name).toBe('B-2');
  const document = { kind: 'baseline', key: 'PLATE:B-2', revision: 1 };
  await cell.services.stateActs.withdrawDocument(await cell.prove('P-QE'), document, 'the wrong drawing (invented)');
  const withdrawn = await assessed('L-3');
  expect(baselineOfLot(withdrawn.facts)).toMatchObject({ withdrawnAt: expect.stringContaining('2031-03-22') });
  expect(withdrawn.assessment.units.map(({ verdict }) => verdict)).not.toContain('conforms');
  await build('L-4', 104, '2031-03-25', '2031-03-27T08:00:00Z');
  expect((await baselineNow('L-4'))!.body.name).toBe('B-1');
  // Whoever asks for the design gets the same from the audit trail as each lot file carries.
  const { lots } = await new DesignAnswers(cell.services.store, new DesignFiles(cell.services.store)).ask('answer', {
    family: 'PLATE',
  });
  expect(Object.fromEntries(lots.map(({ lot, baseline }) => [lot, baseline]))).toEqual({
    ...{ 'L-1': null, 'L-2': 'B-1', 'L-3': 'B-2', 'L-4': 'B-1' },
  });
});

it('is refused as altered wherever it cannot have been the one', async () => {
  const { facts } = await assessed('L-2');
  // biome-ignore lint/suspicious/noExplicitAny: forged at any depth
  const forged = (change: (facts: any) => void) => () => baselineOfLot(edited(facts, change));
  const signs = ({ signatures }: Editable, meaning: string) =>
    signatures.find(
      ({ statement }: Editable) => statement.meaning === meaning && statement.subjects[0].kind === 'baseline',
    ).statement;
  expect(forged(({ baselines }) => baselines.push({ ...baselines[0], revision: 2 }))).toThrow('one at most');
  expect(forged(({ baselines }) => Object.assign(baselines[0].body, { family: 'OTHER' }))).toThrow('of family OTHER');
  expect(forged(({ baselines }) => Object.assign(baselines[0], { recordedAt: '2031-03-11T08:00:00Z' }))).toThrow(
    'which was not in force at 2031-03-10T08:00:00+01:00',
  );
  expect(forged((copy) => Object.assign(signs(copy, 'approved'), { meaning: 'reviewed' }))).toThrow('not in force');
  expect(forged((copy) => Object.assign(signs(copy, 'approved'), { at: '2031-03-10T08:00:01+01:00' }))).toThrow(
    'not in force',
  );
  expect(forged(({ lot }) => Object.assign(lot.body.builds[0], { state: 'planned' }))).toThrow('nothing of the lot');
});
