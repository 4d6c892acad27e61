// usage: npm run bench [-- NAME …] [-- --json]: measures the budgets of docs/budgets.md on this machine.
//        npm run bench -- --check: compares the table with the benches and measures nothing.
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { budgetFaults, readBudgets } from './budgets.mjs';
import { ensureBuilt, ROOT } from './ensure.mjs';

const args = process.argv.slice(2);
const folder = path.join(ROOT, 'tests', 'bench');
const faults = budgetFaults(folder);
for (const fault of faults) console.error(fault);
if (faults.length > 0 || args.includes('--check')) process.exit(faults.length > 0 ? 1 : 0);

ensureBuilt();
const json = args.includes('--json');
const names = args.filter((arg) => !arg.startsWith('--'));
const benches = fs
  .readdirSync(folder)
  .filter((file) => file.endsWith('.mjs'))
  .filter((file) => names.length === 0 || names.includes(path.basename(file, '.mjs')))
  .sort();
const budgets = readBudgets();
let held = true;
for (const file of benches) {
  for (const { name, of, figure: measured } of figuresOf(path.join(folder, file))) {
    const row = budgets.get(name);
    if (row === undefined) throw new Error(`docs/budgets.md has no row "${name}", which ${file} measures`);
    const { budget, unit } = row;
    const holds = measured <= budget;
    const figure = Number(measured.toPrecision(3));
    held &&= holds;
    if (json) console.log(JSON.stringify({ name, of, figure, unit, budget, holds }));
    else {
      const what = of === undefined ? name : `${name} (${of})`;
      console.log(`${holds ? 'holds ' : 'MISSED'}  ${what}: ${figure} ${unit} (at most ${budget})`);
    }
  }
}
process.exit(held ? 0 : 1);

/** In a process of its own: what one bench leaves in memory, or sets for itself, is no part of the next. */
function figuresOf(bench) {
  const results = path.join(os.tmpdir(), `lotwright-bench-${process.pid}.json`);
  const { status } = spawnSync(process.execPath, [path.join(ROOT, 'scripts', 'run-bench.mjs'), bench, results], {
    stdio: ['ignore', 'inherit', 'inherit'],
  });
  if (status !== 0) process.exit(status ?? 1);
  try {
    return JSON.parse(fs.readFileSync(results, 'utf8'));
  } finally {
    fs.rmSync(results, { force: true });
  }
}
