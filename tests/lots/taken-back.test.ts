import { ASSESSMENT_VERSION } from '../../src/base/assessment-version.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { lotsToAssessAgain } from '../../src/lots/earlier-assessment.js';
import type { LotAssessor } from '../../src/lots/lot-assessor.js';
import { Reassessor } from '../../src/lots/reassessor.js';
import { addLot } from '../support/cell.js';
import {
  assessAsEarlier,
  EARLIER_RULES,
  earlierAssessment,
  failByCounts,
  signAsEarlier,
} from '../support/earlier-version.js';
import { SigningCell } from '../support/signing-cell.js';

/*
 * An upgrade that goes otherwise than planned: it is taken back and made again, a lot file is not one that these rules
 * read, or another program holds the folder.
 */
const ACTOR = 'local:tester';
const PASSES = { verdict: 'conforms', releasable: true };
const FAILS = { verdict: 'does not conform', releasable: false };

let cell: SigningCell;

beforeEach(async () => {
  cell = await SigningCell.open((made) => addLot(made, 'L-B', 201, '2031-03-03', { rm: 230, thickness: 1.5 }));
});
afterEach(() => cell.close());

const changesOf = async (lot: string) =>
  (await cell.services.store.read.events.of({ kind: 'lot', key: lot })).flatMap(({ event }) =>
    event.type === 'verdicts-changed' ? [event] : [],
  );

it('an upgrade that is taken back and made again tells each turn of a verdict', async () => {
  const { services } = cell;
  const { read } = services.store;
  await assessAsEarlier(services, 'L-1', failByCounts);
  await services.assessor.assessAgain('L-1', ACTOR);
  const [first] = await changesOf('L-1');
  expect(first).toMatchObject({ before: { version: EARLIER_RULES }, implants: [{ before: FAILS, after: PASSES }] });
  // What the earlier program records once it is taken back: its assessment stands in the store already.
  await services.store.change(ACTOR, (change) =>
    change.events.add({
      ...first!,
      before: first!.after,
      after: first!.before,
      implants: first!.implants.map(({ serial, before, after }) => ({ serial, before: after, after: before })),
      checks: first!.checks.map(({ check, before, after }) => ({ check, before: after, after: before })),
    }),
  );
  expect(await lotsToAssessAgain(read)).toEqual(['L-1']);
  const size = await read.ledger.size();
  await new Reassessor(services.store, services.assessor).run(() => undefined);
  expect(await changesOf('L-1')).toEqual([first, expect.anything(), first]);
  expect(await lotsToAssessAgain(read)).toEqual([]);
  await services.assessor.assessAgain('L-1', ACTOR);
  expect(await read.ledger.size()).toBe(size + 1);
  expect((await services.overview.of('L-1')).changedVerdicts).toHaveLength(3);
});

it('a lot file that these rules do not read is frozen anew, and compared with what was said last', async () => {
  const { services } = cell;
  const { store } = services;
  const { assessment } = await earlierAssessment(services, 'L-1', failByCounts);
  const unreadable = canonicalJson({ format: 0, lot: 'L-1', demo: true });
  const old = sha256Hex(unreadable);
  await store.change(ACTOR, async (change) => {
    await change.lotFiles.add('L-1', old, unreadable, new Map());
    await change.assessments.add('L-1', old, 'Lotwright of an earlier day', assessment);
  });
  await signAsEarlier(services, 'L-1', old, { meaning: 'released', role: 'releaser', units: ['L-1-I2'] });
  await expect(services.assessor.assessAgain('L-1', ACTOR)).rejects.toThrow('format');
  const { dossierSha256, facts } = await services.assessor.assess('L-1', ACTOR);
  const [change, ...more] = await changesOf('L-1');
  expect(more).toEqual([]);
  expect(change).toMatchObject({
    dossier: dossierSha256,
    notAgain: { dossier: old, why: expect.stringContaining('format') },
    implants: [{ serial: 'L-1-I1', before: FAILS, after: PASSES }],
  });
  expect((await services.overview.of('L-1')).changedVerdicts[0]!.says).toContain(
    'These rules cannot assess the lot file of before (',
  );
  expect(await lotsToAssessAgain(store.read)).toEqual([]);
  const { units } = await services.standings.of('L-1', facts);
  expect(units.find(({ serial }) => serial === 'L-1-I2')!.underAssessment).toEqual([
    'the lot file that was signed before is in a form that this version of the program does not read',
  ]);
});

it('an assessment in a form that this version does not read is listed as none, and fails no list', async () => {
  const { services } = cell;
  await assessAsEarlier(services, 'L-1', (assessment) => {
    for (const unit of assessment.units) Object.assign(unit, { verdict: 'good enough', why: null });
  });
  const [line] = (await services.overview.list()).filter(({ lot }) => lot === 'L-1');
  expect(line).toMatchObject({ blockers: [], ofEarlierVersion: true });
  expect(line!.units.map(({ verdict }) => verdict)).toEqual(['not assessed', 'not assessed']);
  expect(await services.overview.of('L-1')).toEqual(line);
  expect((await services.waiting.all()).filter(({ units }) => units.length > 0)).toEqual([]);
  await services.assessor.assessAgain('L-1', ACTOR);
  expect((await services.overview.of('L-1')).units.map(({ verdict }) => verdict)).toEqual(['conforms', 'conforms']);
});

describe('a lot that could not be assessed again', () => {
  beforeEach(async () => {
    for (const lot of ['L-1', 'L-B']) await assessAsEarlier(cell.services, lot, failByCounts);
  });

  const busy = 'lot L-1 could not be assessed again: the folder is busy';

  /** Fails for one lot so often, as while another program writes. */
  function failing(times: number): LotAssessor {
    const { assessor } = cell.services;
    let left = times;
    return {
      assessAgain: async (lot: string, actor: string) => {
        if (lot === 'L-1' && left-- > 0) throw new Error('the folder is busy');
        await assessor.assessAgain(lot, actor);
      },
    } as LotAssessor;
  }

  it('is named until it was, and holds up no other', async () => {
    const { store } = cell.services;
    const reassessor = new Reassessor(store, failing(2));
    const told: string[] = [];
    for (const troubles of [[busy], [busy], []]) {
      await reassessor.run((says) => told.push(says));
      expect(reassessor.troubles).toEqual(troubles);
    }
    expect(told).toEqual([busy]);
    expect((await cell.services.current.of('L-B'))!.assessment.version).toBe(ASSESSMENT_VERSION);
  });

  it('is tried again by itself', async () => {
    const reassessor = new Reassessor(cell.services.store, failing(1));
    const told = new Promise<string>((resolve) => reassessor.start(resolve, 1));
    expect(await told).toBe(busy);
    while ((await changesOf('L-1')).length === 0) await new Promise(setImmediate);
    await reassessor.close();
    expect(reassessor.troubles).toEqual([]);
  });

  it('is named too where it could not even be asked which lots wait', async () => {
    const { store, assessor } = cell.services;
    let isBroken = true;
    const read = new Proxy(store.read, {
      get: (reads, name) => {
        if (name === 'assessments' && isBroken) throw new Error('disk I/O error');
        return Reflect.get(reads, name);
      },
    });
    const reassessor = new Reassessor({ read, leases: store.leases } as typeof store, assessor);
    await reassessor.run(() => undefined);
    expect(reassessor.troubles).toEqual(['lots could not be assessed again: disk I/O error']);
    isBroken = false;
    await reassessor.run(() => undefined);
    expect(reassessor.troubles).toEqual([]);
    expect(await lotsToAssessAgain(store.read)).toEqual([]);
  });
});
