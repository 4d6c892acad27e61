// usage: npm run bench [-- NAME …] [-- --json]: measures the budgets of docs/budgets.md on this machine.
//        npm run bench -- --check: compares the table with the benches and measures nothing.
import fs from 'node:fs';
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
  const { run } = await import(path.join(folder, file));
  for (const { name, of, figure: measured } of await run()) {
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
