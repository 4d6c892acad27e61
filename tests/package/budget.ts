import fs from 'node:fs';

/** What docs/budgets.md allows a production install to have. */
export function installBudget(what: 'packages' | 'size'): number {
  const row = fs
    .readFileSync('docs/budgets.md', 'utf8')
    .match(new RegExp(`^\\| production install, ${what} \\| (\\d+) \\|`, 'm'));
  if (row === null) throw new Error(`docs/budgets.md has no row "production install, ${what}"`);
  return Number(row[1]);
}
