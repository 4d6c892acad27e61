import fs from 'node:fs';
import { checksFor } from '../../src/assessment/checks/catalogue.js';

/** Every check; without verdicts the one on acceptance has nothing to tell. */
const CHECKS = checksFor([]);
const text = fs.readFileSync('docs/validation.md', 'utf8');
const rows = text
  .split('\n')
  .filter((line) => line.startsWith('| '))
  .map((line) => line.split('|').map((cell) => cell.trim()));
const filesIn = (line: string) => [...line.matchAll(/`(tests\/[^`]+)`/g)].map((match) => match[1]!);

it('names test files that exist and hold tests', () => {
  const files = [...new Set(filesIn(text))];
  expect(files.length).toBeGreaterThan(30);
  for (const file of files) {
    const holds = fs.existsSync(file) && /\b(it|test|withTools?)(\.each)?\W/.test(fs.readFileSync(file, 'utf8'));
    expect([file, holds]).toEqual([file, true]);
  }
});

it('has every paragraph of Part 11 on access, signatures, trail, copies and protection once', () => {
  const letters = 'abcdefghijk'.split('').map((letter) => `11.10(${letter})`);
  const others = ['11.30', '11.50(a)', '11.50(b)', '11.70', '11.100(a)', '11.100(b)', '11.100(c)'];
  const codes = ['11.200(a)(1)', '11.200(a)(2)', '11.200(a)(3)', '11.200(b)'];
  const last = 'abcde'.split('').map((letter) => `11.300(${letter})`);
  const found = rows.map((cells) => cells[1]!).filter((cell) => cell.startsWith('11.'));
  expect(found).toEqual([...letters, ...others, ...codes, ...last]);
});

it.each(CHECKS.map(({ code, clause }) => [code, clause]))(
  'has the check %s with its clause and a test that speaks of it',
  (code, clause) => {
    const own = rows.filter((cells) => cells[1] === `\`${code}\``);
    expect(own.map((cells) => cells[2])).toEqual([clause]);
    const files = filesIn(own[0]![3]!);
    expect(files.length).toBeGreaterThan(0);
    for (const file of files) expect([file, fs.readFileSync(file, 'utf8').includes(code)]).toEqual([file, true]);
  },
);

it('has no row for a check that does not exist', () => {
  const codes = rows.map((cells) => cells[1]!).filter((cell) => cell.startsWith('`'));
  expect(codes.sort()).toEqual(CHECKS.map(({ code }) => `\`${code}\``).sort());
});
