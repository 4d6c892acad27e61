import fs from 'node:fs';
import path from 'node:path';
import { ROOT } from './ensure.mjs';

/** The rows of docs/budgets.md: budget, unit and bench of each figure by its name. @throws Error for a row that is none. */
export function readBudgets() {
  const rows = fs
    .readFileSync(path.join(ROOT, 'docs', 'budgets.md'), 'utf8')
    .split('\n')
    .filter((line) => line.startsWith('| '))
    .slice(1)
    .map((line) => line.split('|').map((cell) => cell.replaceAll('`', '').trim()));
  const budgets = new Map();
  for (const [, name, atMost, unit, bench] of rows) {
    const budget = Number(atMost);
    if (!(budget > 0)) throw new Error(`docs/budgets.md, "${name}": found "${atMost}", expected a number above 0`);
    if (budgets.has(name)) throw new Error(`docs/budgets.md names "${name}" twice`);
    budgets.set(name, { budget, unit, bench });
  }
  return budgets;
}

/** What does not fit between the table and the benches that lie in a folder, in words. */
export function budgetFaults(folder) {
  const benches = fs.readdirSync(folder).filter((file) => file.endsWith('.mjs'));
  const text = new Map(benches.map((file) => [file.slice(0, -4), fs.readFileSync(path.join(folder, file), 'utf8')]));
  const rows = [...readBudgets()].filter(([, { bench }]) => bench !== '');
  return [
    ...rows
      .filter(([name, { bench }]) => !text.get(bench)?.includes(`'${name}'`))
      .map(([name, { bench }]) => `docs/budgets.md says that the bench "${bench}" measures "${name}", and it does not`),
    ...[...text.keys()]
      .filter((bench) => !rows.some(([, row]) => row.bench === bench))
      .map((bench) => `docs/budgets.md has no row for the bench "${bench}"`),
  ];
}
