// What it means that an instrument was found off: 2 000 results of 50 lots assessed twice, in the worker; and as a signed PDF.
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { CurrentAssessments } from '../../dist/lots/current-assessments.js';
import { LotOverview } from '../../dist/lots/lot-overview.js';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';
import { AnswerIssuer } from '../../dist/trace/answer-issuer.js';
import { Impacts } from '../../dist/trace/impacts.js';
import { Tracer } from '../../dist/trace/tracer.js';
import '../support/bench-clock.mjs';
import '../support/typescript.mjs';

const LOTS = 50;
/** On each of the two coupons of a lot. */
const RESULTS_EACH = 20;
const RUNS = 3;

/** The tensile sheet of the model, with so many results on each coupon. */
function measureOften({ sheets }) {
  const sheet = sheets['lots/L-1/results/tensile.csv'];
  const first = sheet.filter(({ replicate }) => replicate === '1');
  sheets['lots/L-1/results/tensile.csv'] = first.flatMap((row) =>
    Array.from({ length: RESULTS_EACH }, (_, index) => ({
      ...row,
      replicate: String(index + 1),
      value: (Number(row.value) + index / 10).toFixed(1),
    })),
  );
}

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

export async function run() {
  process.env.TMPDIR = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-impact-'));
  const cleanups = [() => fs.rmSync(process.env.TMPDIR, { recursive: true, force: true })];
  globalThis.afterAll = (work) => cleanups.push(work);
  const { cellWithManyLots } = await import('../support/many-lots.ts');
  try {
    const cell = await cellWithManyLots(LOTS, LOTS - 1, measureOften);
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
      const counts = [answer.lots.length, answer.results.length];
      const expected = [LOTS, LOTS * 2 * RESULTS_EACH];
      if (String(counts) !== String(expected)) throw new Error(`touched ${counts} lots and results, not ${expected}`);
      const current = new CurrentAssessments(store);
      const issuer = new AnswerIssuer(store, new Tracer(store, current, new LotOverview(store)), impacts);
      const begun = performance.now();
      const { pdf } = await issuer.impact(asked, 'local:bench');
      const paper = (performance.now() - begun) / 1000;
      const of = `the first ${seconds[0].toPrecision(2)} s`;
      return [
        { name: 'impact of 2 000 results in 50 lots, in the worker', of, figure: median(seconds) },
        { name: 'signed PDF of such an impact', of: `${(pdf.length / 1e6).toPrecision(2)} MB`, figure: paper },
      ];
    } finally {
      await store.close();
    }
  } finally {
    for (const work of cleanups.reverse()) work();
  }
}
