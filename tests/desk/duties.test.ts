import { AppError } from '../../src/base/errors.js';
import { draftDuties } from '../../src/desk/today/draft-duties.js';
import { Duties } from '../../src/desk/today/duties.js';
import { type Duty, inGroups, type Topic } from '../../src/desk/today/duty.js';
import { KeptAnswers } from '../../src/desk/today/kept-answers.js';
import { endingDuties } from '../../src/desk/today/site-duties.js';
import { waitingLines } from '../../src/desk/waiting-lines.js';
import type { Expiring } from '../../src/lots/expiring.js';
import type { LotLine } from '../../src/lots/lot-line.js';
import { TODAY } from '../../src/report/phrases/today.js';
import { unitsTogether } from '../../src/report/units-together.js';
import { SHEET } from '../../src/sheets/result-sheets.js';
import type { Waiting } from '../../src/signing/waiting-list.js';

const duty = (what: string, by: string | null, topic: Topic = 'sign'): Duty => ({
  ...{ topic, what, of: null, units: [], by, overdue: false },
  button: { text: 'Do it', href: '/' },
});

describe('the list of today', () => {
  it('is one list while it is short, the soonest first and what has no day last', () => {
    const groups = inGroups([duty('c', null), duty('b', '2031-02-01', 'ends'), duty('a', '2031-01-01')]);
    expect(groups.map(({ topic, duties }) => [topic, duties.map(({ what }) => what)])).toEqual([
      [null, ['a', 'b', 'c']],
    ]);
    expect(inGroups([])).toEqual([]);
  });

  it('stands in groups when it is long, that of the soonest line first', () => {
    const topics: Topic[] = ['sign', 'ends', 'decide'];
    const many = Array.from({ length: 9 }, (_, at) => duty(`d${at}`, `2031-01-${20 - at}`, topics[at % 3]!));
    const groups = inGroups(many);
    expect(groups.map(({ topic }) => topic)).toEqual(['decide', 'ends', 'sign']);
    expect(groups.map(({ duties }) => duties.map(({ what }) => what))).toEqual([
      ['d8', 'd5', 'd2'],
      ['d7', 'd4', 'd1'],
      ['d6', 'd3', 'd0'],
    ]);
  });
});

it('tells in one line that gaps are not known while the thread of designs does not answer, and asks anew', async () => {
  const store = {
    clock: { now: () => new Date('2031-03-05T12:00:00Z') },
    read: { ledger: { size: async () => 1 } },
  } as never;
  let fault: Error | undefined = new AppError('BUSY', 'many wait');
  const ask = async () => {
    if (fault) throw fault;
    return { today: '2031-03-05', gaps: [{ by: null, owners: ['P-AN'], says: 'it lacks' }] };
  };
  const kept = new KeptAnswers(store, {} as never, { families: async () => ['A', 'B'], ask } as never);
  expect((await kept.gaps()).map(({ what }) => what)).toEqual([TODAY.designsNotKnown]);
  fault = new AppError('BAD_INPUT', 'another fault');
  await expect(kept.gaps()).rejects.toThrow('another fault');
  fault = undefined;
  expect((await kept.gaps()).map(({ what }) => what)).toEqual([
    'Design of family A: 1 open gap without a day, 1 for P-AN',
    'Design of family B: 1 open gap without a day, 1 for P-AN',
  ]);
});

it('leads from what a person began back to it: a sheet, and a form', () => {
  const common = { person: 'P', changedAt: '2031-01-02T03:04:05Z' };
  const sheet = { ...common, kind: SHEET, name: 'n1', fields: JSON.stringify({ ':lot': 'L-1', ':method': 'MT-1:2' }) };
  const form = { ...common, kind: 'receipt', name: 'n2', fields: '{}' };
  const gone = { ...common, kind: 'no-such-kind', name: 'n3', fields: '{}' };
  const found = draftDuties([sheet, form, gone]);
  expect(found.map(({ button, of }) => [button.href, of?.text])).toEqual([
    ['/sheets/L-1/n1', 'L-1'],
    ['/enter/receipt/n2', undefined],
  ]);
  expect(found[0]!.what).toContain('MT-1 rev 2');
});

it('leads from whatever ends to the form that renews it', () => {
  const sorts: Expiring['sort'][] = ['calibration', 'upkeep', 'material', 'qualification', 'validation', 'permission'];
  const ending = sorts.map((sort) => ({ sort, what: `the ${sort}`, key: 'K 1', on: '2031-01-01', overdue: false }));
  const found = endingDuties(ending, sorts);
  expect(found.map(({ button }) => button.href)).toEqual(
    ['instrument', 'machine', 'receipt', 'person', 'process-validation', 'route-permission'].map(
      (kind) => `/enter/${kind}?of=K%201`,
    ),
  );
  expect(endingDuties(ending, ['upkeep']).map(({ what }) => what)).toEqual(['The upkeep ends']);
});

it('has a picture for one log finding or one group of them, and none for several or for anything else', () => {
  const waiting = (thing: string, act = 'decide'): Waiting => ({
    ...{ thing, act, meaning: 'decided', title: thing, lot: 'L-1', neededBy: null, units: [], step: null, group: null },
    who: ['P'],
  });
  const pictured = (...things: string[]) =>
    waitingLines(things.map((thing) => waiting(thing))).map(({ finding }) => finding);
  expect(pictured('log finding:1f0c')).toEqual(['1f0c']);
  expect(pictured('log finding group:L-1:2e9a')).toEqual(['2e9a']);
  expect(pictured('log finding:1f0c', 'log finding:2a2a')).toEqual([null]);
  expect(pictured('check finding:L-1:77aa')).toEqual([null]);
});

it('shows above a release what the last assessment says only while it is of the lot as it stands', async () => {
  const nothing = {} as never;
  const told = { of: async () => ['told'] } as never;
  const store = { clock: { now: () => new Date('2031-03-05T12:00:00Z') } } as never;
  const duties = new Duties(store, nothing, nothing, nothing, nothing, nothing, told);
  const release = (lot: string): Waiting => ({
    ...{ thing: `lot file:${lot}`, act: 'release', meaning: 'released', title: lot, lot, neededBy: null, units: [] },
    ...{ step: 'distribution', group: null, who: ['P'] },
  });
  const line = (lot: string, outOfDate: boolean, ofEarlierVersion: boolean) =>
    ({ lot, outOfDate, ofEarlierVersion, state: 'in review' }) as LotLine;
  const lots = [line('L-1', false, false), line('L-2', true, false), line('L-3', false, true)];
  const waiting = lots.map(({ lot }) => release(lot));
  const found = await duties.of({ person: 'P', roles: [], open: lots, lots, waiting });
  const waits = [expect.stringContaining('It waits to be assessed')];
  expect(found.map(({ of, summary }) => [of!.text, summary])).toEqual([
    ['L-1', ['told']],
    ['L-2', waits],
    ['L-3', waits],
  ]);
});

it('names implants together of which all the same is said', () => {
  const unit = (serial: string, verdict: string, hold: string | null = null) => ({
    ...{ serial, verdict, hold, decision: 'open', releasedFor: [] },
  });
  const found = unitsTogether([
    unit('A', 'conforms'),
    unit('B', 'does not conform'),
    unit('C', 'conforms'),
    unit('D', 'conforms', 'why'),
  ]);
  expect(found.map(({ serials }) => serials)).toEqual([['A', 'C'], ['B'], ['D']]);
});
