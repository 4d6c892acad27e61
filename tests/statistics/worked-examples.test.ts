import { runCalculation } from '../../src/calculations/calculation.js';
import { CALCULATIONS, calculationNamed } from '../../src/calculations/catalogue.js';

/** `round` answers in text; all others in numbers. */
const NAMES = CALCULATIONS.map(({ name }) => name).filter((name) => name !== 'round');

/** Every number in a text, with either minus sign. */
function numbersIn(text: string): number[] {
  const found = text.replaceAll('−', '-').match(/-?\d+(\.\d+)?(e-?\d+)?/g) ?? [];
  return found.map(Number);
}

function leaves(value: unknown, path = ''): [string, number][] {
  if (typeof value === 'number') return [[path, value]];
  if (value === null || typeof value !== 'object') return [];
  return Object.entries(value).flatMap(([key, inner]) => leaves(inner, path ? `${path}.${key}` : key));
}

describe('worked examples', () => {
  it.each(NAMES)('%s: the steps and the input hold every number of the answer, to four digits', (name) => {
    const { example, output } = calculationNamed(name);
    const { method: _, source: __, notes: ___, ...answer } = runCalculation(calculationNamed(name), example.input);
    const shown = numbersIn([JSON.stringify(example.input), ...example.steps].join(' ; '));
    const missing = leaves(answer).filter(
      ([, value]) => !shown.some((number) => Math.abs(Math.abs(number) - Math.abs(value)) <= 5.1e-4 * Math.abs(value)),
    );
    expect(missing).toEqual([]);
    expect(Object.keys(answer).filter((field) => !(field in output))).toEqual([]);
  });

  it('round: the last step ends in the rounded value', () => {
    const { example } = calculationNamed('round');
    expect(example.steps.at(-1)).toContain(
      (runCalculation(calculationNamed('round'), example.input) as never as { rounded: string }).rounded,
    );
  });
});
