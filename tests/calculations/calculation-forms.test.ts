import { CalculationError } from '../../src/base/errors.js';
import { runCalculation } from '../../src/calculations/calculation.js';
import { calcShape } from '../../src/calculations/calculation-shape.js';
import { CALCULATIONS, calculationNamed } from '../../src/calculations/catalogue.js';
import { readInput, type TypedCalc, textsOf } from '../../src/calculations/typed-input.js';
import { calculationErrors, calculationForm } from '../../src/calculator/calculation-view.js';
import { notForPeople } from '../support/words-for-people.js';

/** What the form tells of something typed, or of what the calculation refuses. */
function toldOf(name: string, typed: TypedCalc): string[] {
  const calculation = calculationNamed(name);
  const { wrong } = readInput(calculation, typed);
  return calculationErrors(calculation, { typed, wrong }).map(({ says }) => says);
}

const filled = (name: string, more: TypedCalc): TypedCalc => ({
  ...textsOf(calculationNamed(name), calculationNamed(name).example.input),
  ...more,
});

describe.each(CALCULATIONS.map((calculation) => [calculation.name, calculation] as const))(
  'the form of %s',
  (_name, calculation) => {
    const example = textsOf(calculation, calculation.example.input);

    it('shows the worked example, and reads the same back from it', () => {
      const { input, wrong } = readInput(calculation, example);
      expect(wrong).toEqual([]);
      expect(runCalculation(calculation, input)).toEqual(runCalculation(calculation, calculation.example.input));
      expect(calcShape(calculation)).not.toMatchObject({ is: 'json' });
    });

    it('has a field with words for each thing that it asks for', () => {
      const { nodes } = calculationForm(calculation, { typed: example, wrong: [] });
      expect(nodes.length).toBeGreaterThan(0);
      for (const node of nodes) {
        expect(node.label).not.toBe('');
        expect(node.help ?? (node.is === 'group' ? 'in its parts' : '')).not.toBe('');
      }
    });

    it.each(['', 'absurd', '-1e999', '0', '1;2;;x', '−5', '[]', '99999999999999999999999'])(
      'says what is wrong with %j everywhere in words for people, or computes',
      (text) => {
        const typed = Object.fromEntries(Object.keys(example).map((place) => [place, text]));
        const { input, wrong } = readInput(calculation, typed);
        const told = calculationErrors(calculation, { typed, wrong });
        for (const { says } of told) expect(notForPeople(says)).toEqual([]);
        if (wrong.length > 0) return;
        try {
          runCalculation(calculation, input);
          expect(text).not.toBe('');
        } catch (error) {
          if (!(error instanceof CalculationError)) throw error;
          expect(notForPeople(error.reason)).toEqual([]);
        }
      },
    );
  },
);

describe('what is typed', () => {
  it.each([
    ['with a comma', '0,0124', 0.0124],
    ['with a point', '0.0124', 0.0124],
    ['with a true minus', '−5', -5],
    ['with a power', '1e-3', 0.001],
  ])('is a number %s', (_, text, value) => {
    const { input } = readInput(calculationNamed('hydrogen-rate'), filled('hydrogen-rate', { gasTemperatureC: text }));
    expect(input).toMatchObject({ gasTemperatureC: value });
  });

  it('is a list by blanks, lines or semicolons, with commas as decimal marks and bounds', () => {
    const read = (values: string) =>
      (readInput(calculationNamed('fit'), filled('fit', { values })).input as { values: unknown }).values;
    expect(read('1,5 2.5\n3;4\t<0,3 > 120')).toEqual([1.5, 2.5, 3, 4, '<0.3', '>120']);
    expect(read('1, 2, 3')).toEqual([1, 2, 3]);
    expect(toldOf('fit', filled('fit', { values: '1,2,3' }))).toEqual([
      'Values: “1,2,3” is no number; write it as 12.5 or 12,5',
    ]);
  });

  it('is a group a line, a cell a line with empty lines between parts, and a row a line', () => {
    const groups = readInput(calculationNamed('one-way-anova'), { groups: '1 2 3\n\n4 5\n' }).input;
    expect(groups).toEqual({
      groups: [
        [1, 2, 3],
        [4, 5],
      ],
    });
    const study = filled('gauge-study', { measurements: '10 12\n11 13\n\n20 22\n25 23' });
    expect(readInput(calculationNamed('gauge-study'), study).input).toMatchObject({
      measurements: [
        [
          [10, 12],
          [11, 13],
        ],
        [
          [20, 22],
          [25, 23],
        ],
      ],
    });
    const rows = { elements: '0,97 24.305 2\n0.03\t26.982\t3' };
    expect(readInput(calculationNamed('equivalent-weight'), rows).input).toEqual({
      elements: [
        { massFraction: 0.97, molarMassGPerMol: 24.305, valence: 2 },
        { massFraction: 0.03, molarMassGPerMol: 26.982, valence: 3 },
      ],
    });
    expect(toldOf('equivalent-weight', { elements: '0.97 24.305 2\n0.03' })[0]).toContain(
      'line 2 has another number of values',
    );
  });

  it('tells all problems at once, each at its field', () => {
    const typed = { massLossG: 'x', areaCm2: '', timeH: '1,5', densityGPerCm3: 'y' };
    expect(toldOf('mass-loss-rate', typed)).toEqual([
      'Mass loss: “x” is no number; write it as 12.5 or 12,5',
      'Area: nothing yet, and it is needed',
      'Density: “y” is no number; write it as 12.5 or 12,5',
    ]);
    expect(toldOf('mass-loss-rate', { massLossG: '-1', areaCm2: '0', timeH: '1', densityGPerCm3: '1' })).toEqual([
      'Mass loss: must not be negative',
      'Area: must be greater than 0',
    ]);
  });

  it('refuses a field that it does not have, as a form of yesterday sends it', () => {
    expect(toldOf('mass-loss-rate', filled('mass-loss-rate', { massG: '1' }))).toEqual([
      '“massG” is no field of this calculation: open its page anew',
    ]);
    expect(toldOf('mass-loss-rate', filled('mass-loss-rate', { massG: '' }))).toEqual([]);
  });

  it('shows the fields of the shape that was chosen', () => {
    const places = (chart: string) =>
      calculationForm(calculationNamed('run-length'), { typed: { chart }, wrong: [] }).nodes.map(({ path }) => path);
    expect(places('')).toEqual(['chart']);
    expect(places('ewma')).toEqual(['chart', 'lambda', 'width', 'shift']);
    expect(places('shewhart-with-rules')).toEqual(['chart', 'rules', 'shift']);
    expect(toldOf('run-length', {})).toEqual(['Chart: nothing yet, and it is needed']);
  });
});
