// usage: npm run bench [-- NAME …] [-- --json]: measures the budgets of docs/architecture.md on this machine.
import fs from 'node:fs';
import path from 'node:path';
import { ensureBuilt, ROOT } from './ensure.mjs';

ensureBuilt();
const args = process.argv.slice(2);
const json = args.includes('--json');
const names = args.filter((arg) => !arg.startsWith('--'));
const folder = path.join(ROOT, 'tests', 'bench');
const benches = fs
  .readdirSync(folder)
  .filter((file) => file.endsWith('.mjs'))
  .filter((file) => names.length === 0 || names.includes(path.basename(file, '.mjs')))
  .sort();
let held = true;
for (const file of benches) {
  const { run } = await import(path.join(folder, file));
  for (const { name, figure, unit, budget, holds } of await run()) {
    held &&= holds;
    if (json) console.log(JSON.stringify({ name, figure, unit, budget, holds }));
    else
      console.log(
        `${holds ? 'holds ' : 'MISSED'}  ${name}: ${Number(figure.toPrecision(3))} ${unit} (budget ${budget})`,
      );
  }
}
process.exit(held ? 0 : 1);
