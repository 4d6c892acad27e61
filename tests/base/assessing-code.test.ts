import fs from 'node:fs';
import path from 'node:path';
import { assessingCode, versionOf } from '../../src/base/assessing-code.js';
import { ASSESSMENT_VERSION } from '../../src/base/assessment-version.js';

const SRC = path.resolve('src');
const textOf = (file: string): string => fs.readFileSync(path.join(SRC, file), 'utf8');

/** The version if one file said something else. */
const withChange = (changed: string): string =>
  versionOf(assessingCode((file) => textOf(file) + (file === changed ? '\nconst other = 1;\n' : '')));

/** What a file imports of our own, types included, found statement by statement. */
function importsOf(file: string, types: 'with types' | 'without types'): string[] {
  return textOf(file)
    .split(/;\n/)
    .map((statement) => statement.replaceAll(/\/\*[\s\S]*?\*\//g, '').trim())
    .filter((statement) => /^(import|export)\b/.test(statement))
    .filter((statement) => types === 'with types' || !/^(import|export) type\b/.test(statement))
    .flatMap((statement) => /from '(\.[^']+)'$/.exec(statement)?.[1] ?? [])
    .map((target) => path.posix.join(path.posix.dirname(file), target).replace(/\.js$/, '.ts'));
}

function closureOf(starts: readonly string[], types: 'with types' | 'without types'): string[] {
  const found = new Set(starts);
  for (const file of found) for (const target of importsOf(file, types)) found.add(target);
  return [...found].sort();
}

const START = 'assessment/assess.ts';
/** People sign on what makes the first page of a lot, too. */
const STARTS = [START, 'report/lot-summary.ts'];
const assessing = [...assessingCode().files.keys()].sort();

it('covers exactly what the assessment needs when it runs, found another way', () => {
  expect(assessing).toEqual(closureOf(STARTS, 'without types'));
  expect(assessing.length).toBeGreaterThan(80);
});

it('leaves out types alone, and whole rooms that assess nothing', () => {
  const onlyTypes = closureOf(STARTS, 'with types').filter((file) => !assessing.includes(file));
  for (const file of onlyTypes) expect(textOf(file)).not.toMatch(/^export (async )?(function|class)/m);
  const rooms = new Set(assessing.map((file) => file.split('/')[0]));
  expect([...rooms].sort()).toEqual([
    'assessment',
    'base',
    'degradation',
    'dossier',
    'kinds',
    'process-logs',
    'report',
    'statistics',
  ]);
  const ofReport = assessing.filter((file) => file.startsWith('report/'));
  expect(ofReport).toEqual(['report/lot-summary.ts', 'report/not-checked.ts']);
});

it('loads nothing while it runs that the imports do not show', () => {
  for (const file of assessing) expect(textOf(file)).not.toMatch(/\bimport\(/);
});

it.each(['assessment/checks/counts-balance.ts', 'assessment/plans/variables.ts', 'statistics/tolerance.ts', START])(
  'changes with %s',
  (file) => {
    expect(assessing).toContain(file);
    expect(withChange(file)).not.toBe(ASSESSMENT_VERSION);
  },
);

it.each(['report/assessment-words.ts', 'report/phrases/plans.ts', 'lots/freeze.ts', 'web/pages.ts'])(
  'does not change with %s',
  (file) => {
    expect(fs.existsSync(path.join(SRC, file))).toBe(true);
    expect(withChange(file)).toBe(ASSESSMENT_VERSION);
  },
);

it('changes with a package that assessing code imports, and with no other', () => {
  const code = assessingCode();
  expect(code.packages).toEqual(['zod']);
  expect(versionOf({ ...code, packages: [] })).not.toBe(ASSESSMENT_VERSION);
  expect(versionOf({ ...code, packages: ['zod', 'no such package'] })).toBe(ASSESSMENT_VERSION);
});
