import { spawnSync } from 'node:child_process';
import fs from 'node:fs';

const check = () => spawnSync(process.execPath, ['scripts/bench.mjs', '--check'], { encoding: 'utf8' });

it('docs/budgets.md and the benches name the same figures', () => {
  const { status, stderr } = check();
  expect([status, stderr]).toEqual([0, '']);
});

it('every bench takes its budgets from there: none holds a figure against a number of its own', () => {
  const benches = fs.readdirSync('tests/bench').filter((file) => file.endsWith('.mjs'));
  expect(benches.length).toBeGreaterThan(5);
  expect(
    benches.filter((file) => /\bbudget\b|\bholds\b/i.test(fs.readFileSync(`tests/bench/${file}`, 'utf8'))),
  ).toEqual([]);
});
