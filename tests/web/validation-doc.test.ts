import fs from 'node:fs';
import { checksFor } from '../../src/assessment/checks/catalogue.js';
import { CONDITIONS } from '../../src/report/phrases/release-conditions.js';

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

describe('every question that a release must have answered', () => {
  const section = /## What is asked before a lot is closed\n([\s\S]*?)\n### /.exec(text)![1]!;
  const asked = section
    .split('\n')
    .filter((line) => line.startsWith('| ') && !/^\| (question|step) /.test(line))
    .map((line) => line.split('|').map((cell) => cell.trim()))
    .map((cells) => ({ question: cells.slice(1, -3).join(': '), by: cells.at(-3)!, tests: filesIn(cells.at(-2)!) }));
  const namesIn = (cell: string) => [...cell.matchAll(/`([^`]+)`/g)].map((match) => match[1]!);
  const isCondition = (name: string) => Object.hasOwn(CONDITIONS, name);
  /** Asked neither of a lot file nor on the day: by whoever acts, or where something comes in. */
  const BY_OTHERS = [
    'authority at each act',
    'each act and record refuses a trail that does not; condition of the day',
    'the list that a reviewer signs',
    'refused where it comes in',
    'registered with its log',
    'told on the first page and by `status` as soon as it is there',
  ];

  it.each(asked)('$question: is asked by checks or conditions that there are, with tests of them', ({ by, tests }) => {
    expect(tests.length).toBeGreaterThan(0);
    if (BY_OTHERS.includes(by)) return;
    const known = new Set<string>(CHECKS.map(({ code }) => code));
    const names = namesIn(by);
    expect(names.length).toBeGreaterThan(0);
    expect(names.filter((name) => !known.has(name) && !isCondition(name))).toEqual([]);
    const told = tests.map((file) => fs.readFileSync(file, 'utf8')).join('\n');
    expect(names.filter((name) => !told.includes(name))).toEqual([]);
  });

  it('leaves out no check, and no condition of the day that can fail', () => {
    const named = new Set(asked.flatMap(({ by }) => namesIn(by)));
    expect(CHECKS.map(({ code }) => code).filter((code) => !named.has(code))).toEqual([]);
    const failing = Object.keys(CONDITIONS).filter((name) => /not|never|no |faults|exceeded/.test(name));
    expect(failing.filter((name) => !named.has(name))).toEqual([]);
  });
});
