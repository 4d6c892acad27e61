import { runCalculation } from '../../src/calculations/calculation.js';
import { calculationNamed } from '../../src/calculations/catalogue.js';
import { apart, type CaseByR, casesByR, pairsOf } from '../reference/by-r.js';

/**
 * 200 series of losses over time that R 4.2.2 fitted (tests/reference/write-losses.R): spread within and between builds by
 * aov, laws by lm, optimize and nls, means that never fall by isoreg.
 * Tolerances: what has no search in it is told by R to 12 digits, and is held to 1e-9; so is the criterion, which is flat at
 * its top. A parameter of a curved law is a place on that flat top, which no search tells to more than half of the digits: it is
 * held to 1e-5 of its own standard uncertainty. What follows from it, curve and uncertainties, is held to 1e-5.
 */
interface Law {
  readonly law: string;
  readonly a: number;
  readonly b?: number;
  readonly known?: Readonly<Record<'a' | 'b', number>>;
}
interface Losses {
  readonly laws: readonly Law[];
  readonly curve: readonly unknown[];
  readonly why: string;
  readonly law?: string;
}

function answerTo(input: CaseByR['input']): Losses {
  const { hours, depthUm, standardUncertaintyUm, build, times } = input as Record<
    string,
    readonly number[] | undefined
  >;
  const losses = hours!.map((hour, place) => ({
    ...{ hours: hour, depthUm: depthUm![place], standardUncertaintyUm: standardUncertaintyUm![place] },
    ...(build && { build: build[place] }),
  }));
  return runCalculation(calculationNamed('loss-over-time'), { losses, hours: times }) as never;
}

const cases = casesByR('losses-by-r.json').map(({ input, expected }) => {
  return { input, found: answerTo(input), expected: expected as never as Losses };
});

describe('losses over time against R', () => {
  it('means, spread, falls, and the law that is followed', () => {
    for (const { input, found, expected } of cases) {
      const { laws: _, curve: __, ...plain } = expected;
      expect({ input, apart: apart(pairsOf(found, plain), 1e-9) }).toEqual({ input, apart: [] });
      expect(found.law).toBe(expected.law);
    }
  });

  it('what each law leaves, and its parameters', () => {
    for (const { input, found, expected } of cases) {
      expect(found.laws.map(({ law }) => law)).toEqual(expected.laws.map(({ law }) => law));
      expected.laws.forEach(({ a, b, known, ...left }, place) => {
        const ours = found.laws[place]!;
        expect({ input, apart: apart(pairsOf(ours, left), 1e-9) }).toEqual({ input, apart: [] });
        if (!known) return;
        expect(Math.abs(ours.a - a)).toBeLessThan(1e-5 * known.a);
        if (b !== undefined) expect(Math.abs(ours.b! - b)).toBeLessThan(1e-5 * known.b);
      });
    }
  });

  it('the curve and what is known of it, at a time between', () => {
    for (const { input, found, expected } of cases) {
      expect({ input, apart: apart(pairsOf(found.curve, expected.curve), 1e-5) }).toEqual({ input, apart: [] });
    }
  });

  it('has series that follow each law, and some that follow none', () => {
    const followed = cases.map(({ expected }) => expected.law ?? expected.why);
    for (const name of ['linear', 'power', 'saturating', 'no law fits']) {
      expect(followed.filter((one) => one === name).length).toBeGreaterThan(10);
    }
  });
});
