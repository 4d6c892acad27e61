// What a family says over its lots: 5 000 of one characteristic, few values a lot or many, the page of a family with thirty
// characteristics over 500 lots, and freezing a lot behind 5 000 others.
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import '../support/bench-clock.mjs';
import '../support/typescript.mjs';

const LOTS = 5000;
const FEW = 3;
const MANY = 30;
const CHARACTERISTICS = 30;
const LOTS_OF_FAMILY = 500;
const AT_ONCE = 250;
const RUNS = 3;
/** Nothing was ever frozen of it. */
const NEW_LOT = 'L-NEW';
const DAY_MS = 86_400_000;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
const range = (count) => Array.from({ length: count }, (_, index) => index);

async function secondsOf(work) {
  const begun = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(begun);
  return (user + system) / 1e6;
}

async function often(work) {
  const seconds = [];
  for (let round = 0; round < RUNS; round++) seconds.push(await secondsOf(work));
  return { first: seconds[0], seconds: median(seconds) };
}

export async function run() {
  process.env.TMPDIR = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-trend-'));
  const cleanups = [() => fs.rmSync(process.env.TMPDIR, { recursive: true, force: true })];
  globalThis.afterAll = (work) => cleanups.push(work);
  const { SigningCell } = await import('../support/signing-cell.ts');
  try {
    const cell = await SigningCell.open(await planned());
    const { store, assessor, studies } = cell.services;
    const { facts } = await assessor.assess('L-1', 'local:tester');
    const add = await adding(store, facts);
    const study = (characteristic, lots) => async () => {
      const { study: found } = await studies.study('PLATE', characteristic, facts.specification.body);
      if (found.index.builds < lots) throw new Error(`${found.index.builds} builds, expected ${lots}`);
    };
    await add(['rm'], LOTS / 2, FEW);
    const half = await often(study('rm', LOTS / 2));
    await add(['rm'], LOTS, FEW, LOTS / 2);
    const few = await often(study('rm', LOTS));
    await add(['thickness'], LOTS, MANY);
    const many = await often(study('thickness', LOTS));
    const others = range(CHARACTERISTICS - 2).map((index) => `c${index}`);
    await add(others, LOTS_OF_FAMILY, FEW);
    const page = await familyPageSeconds(store, studies);
    const { assembleDossier } = await import('../../src/store/assemble-dossier.ts');
    const freezing = await often(async () => {
      const { dossier } = await assembleDossier(store.read, NEW_LOT, false);
      if (!dossier.parts.some(({ name }) => name === 'family-history.json')) throw new Error('there is no history');
    });
    await cell.close();
    const of = `15 000 values; the first ${few.first.toPrecision(2)} s`;
    return [
      { name: 'trend over 5 000 lots', of, figure: few.seconds },
      { name: 'trend, twice the lots', figure: few.seconds / half.seconds },
      { name: 'trend, ten times the values a lot', figure: many.seconds / few.seconds },
      { name: 'page of a family, 30 characteristics over 500 lots, nothing studied before', ...page },
      { name: 'freezing a lot of a family with 5 000 earlier lots', figure: freezing.seconds },
    ];
  } finally {
    for (const work of cleanups.reverse()) await work();
  }
}

/** A specification of so many characteristics, each under a signed plan. */
async function planned() {
  const { rmPlan } = await import('../support/documents/rm-plan.ts');
  const { addLot } = await import('../support/cell.ts');
  const plan = (characteristic, method) =>
    rmPlan({
      ...{ plan: `CAP-${characteristic.toUpperCase()}`, title: characteristic, characteristic, subgroup: 'build' },
      pools: { ...rmPlan().pools, methods: [{ method, revision: 1 }] },
      ...{ baseline: { from: '2017-01-01', to: '2017-12-31' }, runRules: ['nineOneSide', 'ewma'] },
    });
  return (cell) => {
    addLot(cell, NEW_LOT, 110, '2031-03-03', { rm: 230, thickness: 1.5 });
    const items = cell.documents['site/specification.yaml'].characteristics;
    const model = items.find(({ characteristic }) => characteristic === 'rm');
    for (const index of range(CHARACTERISTICS - 2)) {
      items.push({ ...structuredClone(model), characteristic: `c${index}`, title: `Invented ${index}` });
    }
    for (const { characteristic, method } of items) {
      cell.documents[`site/plans/${characteristic}.yaml`] = plan(characteristic, method.method);
    }
  };
}

/** Rows of so many lots more, a build a lot and a lot a day. */
async function adding(store, facts) {
  const { historyRows } = await import('../../src/lots/history-rows.ts');
  const { normalNumbers } = await import('../support/numbers.ts');
  const models = historyRows(facts);
  const normal = normalNumbers(5);
  const rowOf = (characteristic, number, perLot) => {
    const model =
      models.find((row) => row.characteristic === characteristic) ?? models.find((row) => row.characteristic === 'rm');
    const values = range(perLot).map((place) => [
      `S-${number}-${place}`,
      '',
      1,
      Number((231 + 1.5 * normal()).toFixed(1)),
    ]);
    const mean = values.reduce((sum, [, , , value]) => sum + value / perLot, 0);
    return {
      ...model,
      ...{ characteristic, build: `B-${number}`, n: perLot, mean, values, censored: 0, takenOut: [] },
      builtAt: new Date(Date.parse('2017-01-02T08:00:00Z') + number * DAY_MS).toISOString(),
      sumSquaredDeviations: values.reduce((sum, [, , , value]) => sum + (value - mean) ** 2, 0),
      min: Math.min(...values.map((one) => one[3])),
      max: Math.max(...values.map((one) => one[3])),
    };
  };
  return async (characteristics, to, perLot, from = 0) => {
    for (let first = from; first < to; first += AT_ONCE) {
      await store.change('local:tester', async (change) => {
        for (let number = first; number < Math.min(to, first + AT_ONCE); number++) {
          const rows = characteristics.map((one) => rowOf(one, number, perLot));
          await change.histories.add(`E-${number}-${characteristics[0]}`, '0'.repeat(64), rows);
        }
      });
    }
  };
}

/** With nothing kept, asked for until all is counted; the page itself counts for a second at most. */
async function familyPageSeconds(store, studies) {
  const { FamilyPage } = await import('../../src/trend/family-page.ts');
  const { FamilySummaries } = await import('../../src/lots/family-summaries.ts');
  const page = new FamilyPage(store, new FamilySummaries(store, studies));
  const first = await secondsOf(() => page.view('PLATE', 'bound'));
  let asked = 1;
  for (let left = 1; left > 0; asked++) left = (await page.view('PLATE', 'bound')).left.length;
  const again = await often(() => page.view('PLATE', 'bound'));
  return { of: `all studied after ${asked - 1} pages, then ${again.seconds.toPrecision(2)} s`, figure: first };
}
