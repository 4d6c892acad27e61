// What a family says of one characteristic over 5 000 lots: rows read, charts, pool, index with its bounds.
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import '../support/bench-clock.mjs';
import '../support/typescript.mjs';

const LOTS = 5000;
const AT_ONCE = 250;
const RUNS = 3;
const DAY_MS = 86_400_000;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

export async function run() {
  process.env.TMPDIR = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-trend-'));
  const cleanups = [() => fs.rmSync(process.env.TMPDIR, { recursive: true, force: true })];
  globalThis.afterAll = (work) => cleanups.push(work);
  const { SigningCell } = await import('../support/signing-cell.ts');
  const { rmPlan } = await import('../support/documents/rm-plan.ts');
  const { normalNumbers } = await import('../support/numbers.ts');
  try {
    const cell = await SigningCell.open((what) => {
      what.documents['site/plans/rm.yaml'] = rmPlan({
        ...{ subgroup: 'build', baseline: { from: '2017-01-01', to: '2017-12-31' }, runRules: ['nineOneSide', 'ewma'] },
      });
    });
    const { store, assessor, studies } = cell.services;
    const { facts } = await assessor.assess('L-1', 'local:tester');
    const [model] = (await import('../../src/lots/history-rows.ts'))
      .historyRows(facts)
      .filter((row) => row.characteristic === 'rm');
    const normal = normalNumbers(5);
    for (let from = 0; from < LOTS; from += AT_ONCE) {
      await store.change('local:tester', async (change) => {
        for (let number = from; number < from + AT_ONCE; number++) {
          const values = [1, 2, 3].map((place) => [
            `S-${number}-${place}`,
            '',
            1,
            Number((231 + 1.5 * normal()).toFixed(1)),
          ]);
          const mean = values.reduce((sum, [, , , value]) => sum + value / 3, 0);
          await change.histories.add(`E-${number}`, '0'.repeat(64), [
            {
              ...model,
              ...{ build: `B-${number}`, n: 3, mean, values, censored: 0, takenOut: [] },
              builtAt: new Date(Date.parse('2017-01-02T08:00:00Z') + number * DAY_MS).toISOString(),
              sumSquaredDeviations: values.reduce((sum, [, , , value]) => sum + (value - mean) ** 2, 0),
              min: Math.min(...values.map((one) => one[3])),
              max: Math.max(...values.map((one) => one[3])),
            },
          ]);
        }
      });
    }
    const seconds = [];
    for (let round = 0; round < RUNS; round++) {
      const begun = process.cpuUsage();
      const { study } = await studies.study('PLATE', 'rm', facts.specification.body);
      const { user, system } = process.cpuUsage(begun);
      seconds.push((user + system) / 1e6);
      if (study.index.builds < LOTS) throw new Error(`${study.index.builds} builds, expected ${LOTS}`);
    }
    const of = `15 000 values; the first ${seconds[0].toPrecision(2)} s`;
    await cell.close();
    return [{ name: 'trend over 5 000 lots', of, figure: median(seconds) }];
  } finally {
    for (const work of cleanups.reverse()) await work();
  }
}
