import path from 'node:path';
import { consumablesInUse, powderOnStock, receiptStock } from '../../src/desk/stock-view.js';
import { issuedLot } from '../../src/intake/material-issue.js';
import { addLot, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { atMoment } from '../support/clock-ahead.js';
import { openServices, type Services } from '../support/services.js';

/** Worked by hand: of 2 000 000 g of R-1 a fill took 1 000 000 g; of that the lot took 180 g, and two that are planned would take 250 g and 5 g. */
let services: Services;
beforeAll(async () => {
  const cell = makeCell();
  const receipt = cell.documents['site/receipt.yaml']!;
  const more = (code: string, changes: object) => ({
    ...structuredClone(receipt),
    receipt: code,
    massG: '500',
    ...changes,
  });
  cell.documents['site/quarantine.yaml'] = more('R-Q', {
    status: 'quarantine',
    acceptance: undefined,
    expiry: '2031-04-20',
  });
  cell.documents['site/old.yaml'] = more('R-X', { receivedAt: '2031-01-11T10:00:00+01:00', expiry: '2031-03-31' });
  cell.documents['site/tips.yaml'] = more('R-T', {
    ...{ massG: undefined, quantity: { value: '10', ucum: '1' }, category: 'tool', material: 'zirconia-tip' },
    ...{ heats: [], certificate: undefined, expiry: undefined },
  });
  for (const made of ['quarantine', 'old', 'tips'].map((name) => cell.documents[`site/${name}.yaml`]!)) {
    for (const [name, value] of Object.entries(made)) if (value === undefined) delete made[name];
  }
  cell.documents['site/tip.yaml'] = {
    ...{ kind: 'consumable', format: 1, consumable: 'TIP-7', category: 'tip', material: 'zirconia-tip', by: 'P-OP' },
    ...{ made: [{ receipt: 'R-T', quantity: { value: '1', ucum: '1' } }], inUseFrom: '2031-01-14T08:00:00+01:00' },
  };
  const lot = cell.documents['lots/L-1/lot.yaml']!;
  lot.builds[0].consumables = [{ consumable: 'TIP-7', step: 'peen', uses: 3 }];
  const [built] = lot.builds;
  const { log: _log, ...planned } = structuredClone(built);
  lot.builds.push({
    ...{
      ...planned,
      build: 'M1-999',
      run: 999,
      state: 'planned',
      consumables: [{ consumable: 'TIP-7', step: 'peen' }],
    },
    ...{ closedAt: '2031-05-02T08:00:00+01:00', openedAt: '2031-05-02T09:00:00+01:00' },
    powder: [{ state: 'PS-1', chargedG: '250' }],
  });
  addLot(cell, 'L-2', 102, '2031-05-03', { rm: 230, thickness: 1.5 });
  for (const name of Object.keys(cell.sheets)) if (name.startsWith('lots/L-2/')) delete cell.sheets[name];
  delete cell.files['lots/L-2/logs/run.csv'];
  const [planOnly] = cell.documents['lots/L-2/lot.yaml']!.builds;
  delete planOnly.log;
  Object.assign(planOnly, { state: 'planned', powder: [{ state: 'PS-1', chargedG: '5' }] });
  cell.documents['lots/L-2/lot.yaml']!.opened.at = '2031-04-09T08:00:00+02:00';
  const data = path.join(temporaryFolder('data'), 'data');
  services = await atMoment('2031-04-10T09:00:00Z', async () => {
    const opened = await openServices(data);
    await opened.intake.run(writeCell(cell), 'local:tester');
    return opened;
  });
});
afterAll(() => services.store.close());

const TODAY = '2031-04-10';
const receipts = (...asked: Parameters<typeof receiptStock> extends [unknown, unknown, ...infer Rest] ? Rest : never) =>
  receiptStock(services.store.read, TODAY, ...asked);

it('says what is left of each receipt, by mass or by pieces', async () => {
  const { rows } = await receipts('all', 1);
  const left = Object.fromEntries(rows.map((row) => [row.receipt, row.left]));
  expect(left).toEqual({ 'R-1': '1000000 g', 'R-Q': '500 g', 'R-X': '500 g', 'R-T': '9 pieces' });
});

it('counts what is in quarantine, expired and expiring, and shows one of these alone', async () => {
  const { counts } = await receipts('all', 1);
  expect(counts.map(({ as, count }) => [as, count])).toEqual([
    ['all', 4],
    ['quarantine', 1],
    ['expired', 1],
    ['expiring', 1],
  ]);
  for (const [as, code] of [
    ['quarantine', 'R-Q'],
    ['expired', 'R-X'],
    ['expiring', 'R-Q'],
  ] as const) {
    expect((await receipts(as, 1)).rows.map(({ receipt }) => receipt)).toEqual([code]);
  }
});

it('takes what planned builds would take for reserved, and not for taken', async () => {
  const { rows } = await powderOnStock(services.store.read, 1);
  expect(rows.map(({ state, left, reserved }) => [state, left, reserved])).toEqual([['PS-1', '999820 g', '255 g']]);
});

it('counts the uses of what wears out from closures that were, and none that are planned', async () => {
  const { rows } = await consumablesInUse(services.store.read, 1);
  expect(rows).toMatchObject([{ consumable: 'TIP-7', uses: '3', isOver: false }]);
});

it('turns over from any row', async () => {
  expect(await receipts('all', 3)).toMatchObject({ from: 3, of: 4, before: 1, next: null });
});

it('issues one thing to a planned build by its code, and stores it as a revision of its lot', async () => {
  const { entries } = services.store.read;
  const issue = (code: string, massG = '') => issuedLot(services.store.read, { code, massG, build: 'M1-102' });
  for (const [code, massG, field] of [
    ['PS-1', '', 'massG'],
    ['PS-1', '-5', 'massG'],
    ['R-1', '10', 'code'],
    ['nothing', '', 'code'],
  ] as const) {
    await expect(issue(code, massG)).rejects.toMatchObject({ problems: [{ field }] });
  }
  await expect(issuedLot(services.store.read, { code: 'PS-1', massG: '1', build: 'M1-101' })).rejects.toThrow(
    'no plan',
  );
  await atMoment('2031-04-10T10:00:00Z', async () => {
    for (const made of [
      () => issue(' PS-1 ', '10.5'),
      () => issue('PS-1', '2'),
      () => issue('TIP-7'),
      () => issue('TIP-7'),
    ]) {
      await services.intake.take([await made()], 'local:tester');
    }
  });
  const { body, revision } = await entries.currentOrThrow('lot', 'L-2');
  expect(revision).toBe(5);
  expect(body.builds[0]).toMatchObject({
    powder: [{ state: 'PS-1', chargedG: '17.5' }],
    consumables: [{ consumable: 'TIP-7', step: 'peen', uses: 2 }],
  });
});
