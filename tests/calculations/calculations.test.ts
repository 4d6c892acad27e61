import { readdirSync, readFileSync } from 'node:fs';
import { NotFoundError } from '../../src/base/errors.js';
import { runCalculation } from '../../src/calculations/calculation.js';
import { inputFields } from '../../src/calculations/calculation-fields.js';
import { CALCULATIONS, calculationNamed } from '../../src/calculations/catalogue.js';
import { type ExampleDocument, exampleDocument, formulasDocument } from '../../src/calculations/formulas-doc.js';
import { refusedField } from '../statistics/run-row.js';
import { relativeError } from '../support/numbers.js';

/** Every row of the agreed contract of `calc`. */
const CONTRACT = [
  'summary',
  'one-way-anova',
  'capability',
  'capability-bound',
  'capability-percentile',
  'chart-constants',
  'individuals-chart',
  'subgroup-chart',
  'count-chart',
  'run-rules',
  'ewma',
  'cusum',
  'run-length',
  'tolerance-factor',
  'tolerance-interval',
  'sample-size',
  'sampling-plan',
  'operating-characteristic',
  'variables-plan',
  'normality',
  'outlier',
  'fit',
  'box-cox',
  'equal-variance',
  'gauge-study',
  'nested-variance',
  'variance-components',
  'decision',
  'decision-risk',
  'round',
  'mass-loss-rate',
  'hydrogen-rate',
  'current-rate',
  'equivalent-weight',
  'residual-section',
  'loss-over-time',
  'support-window',
  'trend-test',
  'line-fit',
];

const STALE = 'is stale: run node scripts/write-docs.mjs after a build';

describe('the catalogue of calculations', () => {
  it('covers the contract, each name once', () => {
    const names = CALCULATIONS.map(({ name }) => name);
    expect(CONTRACT.filter((name) => !names.includes(name))).toEqual([]);
    expect(new Set(names).size).toBe(names.length);
  });

  it('finds a calculation by name and names what it does not have', () => {
    expect(calculationNamed('summary').name).toBe('summary');
    expect(() => calculationNamed('no-such-thing')).toThrow(NotFoundError);
  });

  it.each(CALCULATIONS.map((calculation) => [calculation.name, calculation] as const))(
    '%s: says what it needs, computes, and refuses what it does not know',
    (name, calculation) => {
      for (const fields of inputFields(calculation)) {
        expect(fields.length).toBeGreaterThan(0);
        for (const field of fields)
          expect([field.name, field.meaning]).toEqual([field.name, expect.stringMatching(/\w{2}/)]);
      }
      expect(calculation.purpose).not.toMatch(/[.\n]$/);
      const { example } = calculation;
      const answer = runCalculation(calculation, example.input) as unknown as Record<string, unknown>;
      expect(answer.method).toEqual(expect.stringMatching(/\w/));
      expect(answer.source).toEqual(expect.stringMatching(/\w/));
      expect(Array.isArray(answer.notes)).toBe(true);
      expect(refusedField(name, { ...(example.input as object), unheardOf: 1 })).toBe('unheardOf');
      for (const nothing of [null, [], 'text', 3]) expect(() => refusedField(name, nothing)).not.toThrow();
      expect(() => refusedField(name, {})).not.toThrow();
    },
  );

  it.each(CALCULATIONS.map(({ name }) => name))('%s: refuses NaN and infinities wherever a number stands', (name) => {
    const { input } = calculationNamed(name).example;
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, null]) {
      for (const broken of variantsWith(input, bad)) expect(() => refusedField(name, broken)).not.toThrow();
    }
  });
});

/** The input with each of its numbers in turn replaced. */
function variantsWith(input: unknown, replacement: unknown): unknown[] {
  if (typeof input === 'number') return [replacement];
  if (input === null || typeof input !== 'object') return [];
  if (Array.isArray(input))
    return input.flatMap((entry, i) => variantsWith(entry, replacement).map((one) => input.with(i, one)));
  return Object.entries(input).flatMap(([key, entry]) =>
    variantsWith(entry, replacement).map((one) => ({ ...input, [key]: one })),
  );
}

describe('documents made from the calculations', () => {
  it('docs/formulas.md is what the code says', () => {
    expect(comparable(readFileSync('docs/formulas.md', 'utf8'))).toBe(comparable(formulasDocument(CALCULATIONS)));
  });

  it('docs/calculations holds one example of each calculation and nothing else', () => {
    const expected = CALCULATIONS.map(({ name }) => `${name}.json`).sort();
    expect(readdirSync('docs/calculations').sort()).toEqual(expected);
  });

  it.each(CALCULATIONS.map(({ name }) => name))('docs/calculations/%s.json', (name) => {
    const stored = JSON.parse(readFileSync(`docs/calculations/${name}.json`, 'utf8')) as ExampleDocument;
    const fresh = exampleDocument(calculationNamed(name));
    expect(stored.input).toEqual(fresh.input);
    expect([STALE, differences(stored.output, fresh.output)]).toEqual([STALE, []]);
    // What is stored is an answer to its own input.
    expect(differences(runCalculation(calculationNamed(name), stored.input), stored.output)).toEqual([]);
  });
});

/** Paths where two answers differ by more than the ninth digit, or at all where they are not numbers. */
function differences(found: unknown, expected: unknown, path = ''): string[] {
  if (typeof found === 'number' && typeof expected === 'number') {
    const same = relativeError(found, expected) < 1e-9 || Math.abs(found - expected) < 1e-12;
    return same ? [] : [`${path}: ${found}, ${expected}`];
  }
  if (found !== null && expected !== null && typeof found === 'object' && typeof expected === 'object') {
    const keys = new Set([...Object.keys(found), ...Object.keys(expected)]);
    return [...keys].flatMap((key) => differences(found[key as never], expected[key as never], `${path}.${key}`));
  }
  return found === expected ? [] : [`${path}: ${found}, ${expected}`];
}

/** Numbers cut to eight digits: engines differ in the last bits of a double. */
function comparable(text: string): string {
  return text.replace(/-?\d+\.\d{6,}(e-?\d+)?/g, (number) => Number(number).toPrecision(8));
}
