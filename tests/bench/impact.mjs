// What it means that an instrument was found off: 50 lots assessed twice, in the worker.
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';
import { Impacts } from '../../dist/trace/impacts.js';
import '../support/bench-clock.mjs';
import '../support/typescript.mjs';

const LOTS = 50;
const RUNS = 3;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

export async function run() {
  process.env.TMPDIR = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-impact-'));
  const cleanups = [() => fs.rmSync(process.env.TMPDIR, { recursive: true, force: true })];
  globalThis.afterAll = (work) => cleanups.push(work);
  const { cellWithManyLots } = await import('../support/many-lots.ts');
  try {
    const cell = await cellWithManyLots(LOTS, LOTS - 1);
    const folder = cell.folder.path;
    await cell.close();
    const store = await Store.open(DataFolder.open(folder));
    store.becomeService();
    try {
      const bias = { value: '0.1', ucum: 'MPa' };
      const time = { from: '2000-01-01T00:00:00Z', to: store.clock.now().toISOString() };
      const asked = { id: 'I-RIG', ...time, bias, uncertainty: undefined, without: false };
      const impacts = new Impacts(store);
      const seconds = [];
      let answer;
      for (let round = 0; round < RUNS; round++) {
        const begun = process.cpuUsage();
        answer = await impacts.of(asked);
        const { user, system } = process.cpuUsage(begun);
        seconds.push((user + system) / 1e6);
      }
      if (answer.lots.length !== LOTS) throw new Error(`touched ${answer.lots.length} lots, expected ${LOTS}`);
      const of = `${answer.results.length} results; the first ${seconds[0].toPrecision(2)} s`;
      return [{ name: 'impact of an instrument on 50 lots, in the worker', of, figure: median(seconds) }];
    } finally {
      await store.close();
    }
  } finally {
    for (const work of cleanups.reverse()) work();
  }
}
