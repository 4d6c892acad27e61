import fc from 'fast-check';
import { AQL_COLUMNS, codeLetter, type Severity, samplingPlan } from '../../src/statistics/attribute-sampling.js';
import { hypergeometricCdf } from '../../src/statistics/hypergeometric.js';
import { estimatedNonconforming, maximumNonconformingOf } from '../../src/statistics/variables-sampling.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';
import { refusedField, runRow } from './run-row.js';

interface Plan {
  readonly letter: string;
  readonly letterUsed: string;
  readonly n: number;
  readonly accept: number;
  readonly reject: number;
}

/** A lot size whose level II letter is the given one. */
function lotOf(letter: string): number {
  const sizes: Readonly<Record<string, number>> = {
    A: 8,
    B: 15,
    C: 25,
    D: 50,
    E: 90,
    F: 150,
    G: 280,
    H: 500,
    J: 1200,
    K: 3200,
    L: 10000,
    M: 35000,
    N: 150000,
    P: 500000,
    Q: 500001,
  };
  return sizes[letter]!;
}

describe('attribute sampling plans of MIL-STD-105E', () => {
  it(titleOf(reference('A5-105E-LETTERS-OPEN')), () => {
    const item = reference('A5-105E-LETTERS-OPEN');
    const ranges: string[] = item.inputs.lot_size_ranges;
    for (const { name, recomputed: letters } of item.expected) {
      const level = name === 'level I' ? 'I' : 'II';
      ranges.forEach((range, i) => {
        const [from, to] = range.replace('+', '-9999999').split('-').map(Number);
        expect([range, codeLetter(from!, level), codeLetter(to!, level)]).toEqual([
          range,
          ...Array(2).fill((letters as string[])[i]),
        ]);
      });
    }
  });

  it(titleOf(reference('A5-105E-NORMAL-OPEN')), () => {
    const item = reference('A5-105E-NORMAL-OPEN');
    const rows = item.expected[0]!.published as readonly {
      letter: string;
      n: number;
      Ac: readonly (number | string)[];
    }[];
    expect(rows).toHaveLength(14);
    rows.forEach(({ letter, n, Ac }, row) => {
      (item.inputs.AQL as string[]).forEach((aql, column) => {
        // Follow the printed arrows to the cell that holds numbers.
        let at = row;
        while (typeof rows[at]?.Ac[column] === 'string') at += rows[at]!.Ac[column] === 'up' ? -1 : 1;
        if (!rows[at]) return;
        const plan = samplingPlan(lotOf(letter), 'II', Number(aql), 'normal');
        expect({ aql, ...plan }).toMatchObject({
          letter,
          letterUsed: rows[at]!.letter,
          tableSampleSize: rows[at]!.n,
          accept: rows[at]!.Ac[column],
        });
        if (typeof Ac[column] === 'number') expect(plan.tableSampleSize).toBe(n);
      });
    });
  });

  it(titleOf(reference('A5-105E-LOOKUP')), () => {
    const item = reference('A5-105E-LOOKUP');
    (item.inputs.cases as { lot: number; AQL: string }[]).forEach(({ lot, AQL }, i) => {
      const plan = runRow<Plan>('sampling-plan', { lotSize: lot, level: 'II', aql: AQL, inspection: 'normal' });
      const expected = item.expected[i]!.recomputed as { letter: string; letter_used: string; n: number; Ac: number };
      expect({ letter: plan.letter, letter_used: plan.letterUsed, n: plan.n, Ac: plan.accept }).toEqual(expected);
      expect(plan.reject).toBe(plan.accept + 1);
    });
  });

  // The tightened table of letters D to L as tabulated by the National Institute of Building Sciences from MIL-STD-105E
  // (rejection numbers there, acceptance numbers here; arrows down).
  it.each<[string, readonly (number | 'down')[]]>([
    ['D', ['down', 'down', 'down', 0, 'down', 'down', 1, 2]],
    ['F', ['down', 0, 'down', 'down', 1, 2, 3, 5]],
    ['J', ['down', 1, 2, 3, 5, 8, 12, 18]],
  ])('tightened, letter %s', (letter, cells) => {
    const columns = [0.65, 1, 1.5, 2.5, 4, 6.5, 10, 15];
    cells.forEach((cell, i) => {
      const plan = samplingPlan(lotOf(letter), 'II', columns[i]!, 'tightened');
      if (cell === 'down') expect(plan.letterUsed > letter).toBe(true);
      else expect([plan.letterUsed, plan.accept, plan.reject]).toEqual([letter, cell, cell + 1]);
    });
  });

  // Montgomery, Introduction to Statistical Quality Control, section on MIL-STD-105E: lot of 2000, level II, AQL 0.65.
  it.each<[Severity, number, number, number]>([
    ['normal', 125, 2, 3],
    ['tightened', 125, 1, 2],
    ['reduced', 50, 1, 3],
  ])('letter K at AQL 0.65, %s: n = %d, accept %d, reject %d (Montgomery)', (inspection, n, accept, reject) => {
    const plan = runRow<Plan>('sampling-plan', { lotSize: 2000, level: 'II', aql: 0.65, inspection });
    expect(plan).toMatchObject({ letter: 'K', letterUsed: 'K', n, accept, reject });
  });

  // NBR 5426 (the same tables), table 4, column 2.5 of reduced inspection.
  it.each([
    ['A', 'C', 2, 0, 1],
    ['C', 'C', 2, 0, 1],
    ['D', 'C', 2, 0, 1],
    ['E', 'F', 8, 0, 2],
    ['F', 'F', 8, 0, 2],
    ['G', 'G', 13, 1, 3],
    ['H', 'H', 20, 1, 4],
    ['J', 'J', 32, 2, 5],
    ['K', 'K', 50, 3, 6],
    ['L', 'L', 80, 5, 8],
    ['M', 'M', 125, 7, 10],
    ['N', 'N', 200, 10, 13],
    ['P', 'N', 200, 10, 13],
    ['Q', 'N', 200, 10, 13],
  ])(
    'reduced at AQL 2.5, letter %s: plan %s, n = %d, accept %d, reject %d (NBR 5426)',
    (letter, used, n, accept, reject) => {
      const plan = samplingPlan(lotOf(letter), 'II', 2.5, 'reduced');
      expect([plan.letterUsed, plan.tableSampleSize, plan.accept, plan.reject]).toEqual([used, n, accept, reject]);
    },
  );

  // Printed rows of table II-A; copies in circulation have 44/65 for 44/45.
  it.each([
    ['A', 1000, 30, 31],
    ['B', 1000, 44, 45],
    ['E', 250, 44, 45],
    ['F', 100, 21, 22],
    ['G', 65, 21, 22],
  ])('normal, letter %s at AQL %d: %d/%d (F by its arrow up to E)', (letter, aql, accept, reject) => {
    const plan = samplingPlan(lotOf(letter), 'II', aql, 'normal');
    expect([plan.accept, plan.reject]).toEqual([accept, reject]);
  });

  it('answers or refuses every look-up, and never asks for more than the lot', () => {
    const levels = ['I', 'II', 'III', 'S-1', 'S-2', 'S-3', 'S-4'] as const;
    const severities = ['normal', 'tightened', 'reduced'] as const;
    fc.assert(
      fc.property(
        fc.oneof(fc.integer({ min: 2, max: 3000 }), fc.integer({ min: 3000, max: 2_000_000 })),
        fc.constantFrom(...levels),
        fc.constantFrom(...AQL_COLUMNS.filter((aql) => aql <= 6.5)),
        fc.constantFrom(...severities),
        (lotSize, level, aql, severity) => {
          fc.pre(!(severity === 'tightened' && aql === 0.015));
          const plan = samplingPlan(lotSize, level, aql, severity);
          expect(plan.n).toBe(Math.min(plan.tableSampleSize, lotSize));
          expect(plan.accept).toBeLessThan(plan.reject);
        },
      ),
      { numRuns: 500 },
    );
  });

  it('inspects the whole of a small lot and says so', () => {
    const plan = runRow<Plan>('sampling-plan', { lotSize: 8, level: 'II', aql: 0.65, inspection: 'normal' });
    expect(plan).toMatchObject({ letter: 'A', letterUsed: 'F', n: 8, accept: 0 });
    expect(plan.notes).toEqual(expect.arrayContaining(['the table asks for 20: inspect the whole lot']));
  });

  it.each([
    [{ lotSize: 1, level: 'II', aql: 1, inspection: 'normal' }, 'lotSize'],
    [{ lotSize: 100, level: 'IV', aql: 1, inspection: 'normal' }, 'level'],
    [{ lotSize: 100, level: 'II', aql: 0.9, inspection: 'normal' }, 'aql'],
    [{ lotSize: 100, level: 'II', aql: 25, inspection: 'reduced' }, 'aql'],
    [{ lotSize: 8, level: 'II', aql: 1000, inspection: 'tightened' }, 'aql'],
    [{ lotSize: 100, level: 'II', aql: 1 }, 'inspection'],
  ])('refuses %j', (input, field) => expect(refusedField('sampling-plan', input)).toBe(field));
});

describe('operating characteristic', () => {
  it(titleOf(reference('A5-OC-J')), () => {
    const item = reference('A5-OC-J');
    const { n, c: accept, p: fractions, N_for_hypergeometric: lotSize } = item.inputs;
    const curves = {
      binomial: (p: number) => `binomial Pa at p=${p}`,
      poisson: (p: number) => `Poisson Pa at p=${p}`,
      hypergeometric: (p: number) => `hypergeometric Pa, N=1000, D=${1000 * p}`,
    };
    for (const [model, nameOf] of Object.entries(curves)) {
      const input = { n, accept, fractions, model, ...(model === 'hypergeometric' && { lotSize }) };
      const { probabilities } = runRow<{ probabilities: number[] }>('operating-characteristic', input);
      (fractions as number[]).forEach((p, i) => {
        expect(relativeError(probabilities[i]!, recomputed(item, nameOf(p)))).toBeLessThan(1e-9);
      });
    }
  });

  it(titleOf(reference('A5-OC-NIST')), () => {
    const item = reference('A5-OC-NIST');
    const { n, c: accept, N: lotSize, p: fractions } = item.inputs;
    const answer = runRow<Record<string, number[]>>('operating-characteristic', { n, accept, fractions, lotSize });
    const fields = { Pa: 'probabilities', AOQ: 'averageOutgoingQuality', ATI: 'averageTotalInspection' };
    let checked = 0;
    // One printed AOQ was computed there from a rounded probability; the item gives the exact one beside it.
    const exact = item.expected.filter((each) => !('note' in each && String(each.note).includes('rounded')));
    for (const { name, recomputed: expected } of exact) {
      const match = /^(Pa|AOQ|ATI) at p=([\d.]+)$/.exec(name);
      if (!match) continue;
      const found = answer[fields[match[1] as keyof typeof fields]]![fractions.indexOf(Number(match[2]))]!;
      expect(relativeError(found, Number(expected))).toBeLessThan(1e-9);
      checked++;
    }
    expect(checked).toBe(36);
  });

  it('agrees with brute-force sums over all samples of a small lot', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 12 }), fc.nat(12), fc.nat(12), fc.nat(5), (lotSize, bad, drawn, accept) => {
        const nonconforming = Math.min(bad, lotSize);
        const n = Math.min(drawn, lotSize);
        let passing = 0;
        let all = 0;
        for (let subset = 0; subset < 2 ** lotSize; subset++) {
          const items = Array.from({ length: lotSize }, (_, i) => (subset >> i) & 1);
          if (items.reduce((sum, taken) => sum + taken, 0) !== n) continue;
          all++;
          if (items.slice(0, nonconforming).reduce((sum, taken) => sum + taken, 0) <= accept) passing++;
        }
        expect(Math.abs(hypergeometricCdf(accept, { lotSize, nonconforming, n }) - passing / all)).toBeLessThan(1e-13);
      }),
      { numRuns: 60 },
    );
  });

  it('agrees with a brute-force binomial sum, and falls with the fraction', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 60 }),
        fc.nat(10),
        fc.double({ min: 0.001, max: 0.999, noNaN: true }),
        (n, accept, p) => {
          let sum = 0;
          let term = (1 - p) ** n;
          for (let i = 0; i <= Math.min(accept, n); i++) {
            sum += term;
            term *= ((n - i) / (i + 1)) * (p / (1 - p));
          }
          const fractions = [p, Math.min(1, p * 1.01)];
          const [at, worse] = runRow<{ probabilities: number[] }>('operating-characteristic', {
            n,
            accept,
            fractions,
          }).probabilities;
          expect(Math.abs(at! - sum)).toBeLessThan(1e-12);
          expect(worse!).toBeLessThanOrEqual(at! + 1e-15);
        },
      ),
    );
  });

  it('keeps its digits in a large lot (exact rational arithmetic: 0.04948859534165795 and 7.012157640463011e-16)', () => {
    const large = hypergeometricCdf(0, { lotSize: 1_000_000, nonconforming: 1000, n: 3000 });
    expect(relativeError(large, 0.04948859534165795)).toBeLessThan(1e-12);
    const small = hypergeometricCdf(2, { lotSize: 100_000, nonconforming: 500, n: 8000 });
    expect(relativeError(small, 7.012157640463011e-16)).toBeLessThan(1e-12);
  });

  it.each([
    [{ n: 5, accept: 0, fractions: [] }, 'fractions'],
    [{ n: 5, accept: 0, fractions: [1.2] }, 'fractions.0'],
    [{ n: 5, accept: 0, fractions: [0.1], model: 'hypergeometric' }, 'lotSize'],
    [{ n: 50, accept: 0, fractions: [0.1], lotSize: 20 }, 'n'],
    [{ n: 0, accept: 0, fractions: [0.1] }, 'n'],
    [{ n: 5, accept: -1, fractions: [0.1] }, 'accept'],
  ])('refuses %j', (input, field) => expect(refusedField('operating-characteristic', input)).toBe(field));
});

describe('sample sizes', () => {
  const sizeOf = (input: object) => runRow<{ n: number }>('sample-size', input).n;

  it(titleOf(reference('A4-WILKS1')), () => {
    const item = reference('A4-WILKS1');
    (item.inputs.content_confidence as [number, number][]).forEach(([content, confidence], i) => {
      expect(sizeOf({ content, confidence })).toBe(item.expected[i]!.recomputed);
    });
  });

  it(titleOf(reference('A5-C0-BINOM')), () => {
    for (const { name, recomputed: n } of reference('A5-C0-BINOM').expected) {
      const [, p, confidence] = /^p=([\d.]+), C=([\d.]+)$/.exec(name)!;
      expect([name, sizeOf({ content: 1 - Number(p), confidence: Number(confidence) })]).toEqual([name, n]);
    }
  });

  it(titleOf(reference('A5-C0-OPEN')), () => {
    const rows = reference('A5-C0-OPEN').expected[0]!.recomputed as readonly Record<string, number>[];
    for (const { N: lotSize, fraction, D, n_90, n_95, n_99, Pa_at_n_95: passes } of rows) {
      const content = 1 - fraction!;
      const sizes = [0.9, 0.95, 0.99].map((confidence) => sizeOf({ content, confidence, lotSize }));
      expect([lotSize, fraction, ...sizes]).toEqual([lotSize, fraction, n_90, n_95, n_99]);
      const at = hypergeometricCdf(0, { lotSize: lotSize!, nonconforming: D!, n: n_95! });
      expect(relativeError(at, passes!)).toBeLessThan(1e-9);
    }
  });

  it('counts exact equality as reached: 20 items with one bad need 19, 100 need 95', () => {
    expect(sizeOf({ content: 0.95, confidence: 0.95, lotSize: 20 })).toBe(19);
    expect(sizeOf({ content: 0.99, confidence: 0.95, lotSize: 100 })).toBe(95);
  });

  // Well-known first- and second-order values at 95/95 (Wilks 1941; used in reactor safety analysis): 59, 93, 124, 153.
  it.each([
    [{ sides: 1 }, 59],
    [{ sides: 2 }, 93],
    [{ failuresAllowed: 1 }, 93],
    [{ failuresAllowed: 2 }, 124],
    [{ failuresAllowed: 3 }, 153],
  ])('at 95 % content and confidence, %j: %d', (extra, n) => {
    expect(sizeOf({ content: 0.95, confidence: 0.95, ...extra })).toBe(n);
  });

  it('is the smallest: one item fewer says too little', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 0.999, noNaN: true }),
        fc.double({ min: 0.5, max: 0.999, noNaN: true }),
        fc.nat(4),
        (content, confidence, failuresAllowed) => {
          const n = sizeOf({ content, confidence, failuresAllowed });
          const found = (size: number) =>
            runRow<{ probabilities: number[] }>('operating-characteristic', {
              n: size,
              accept: failuresAllowed,
              fractions: [1 - content],
            }).probabilities[0]!;
          expect(found(n)).toBeLessThanOrEqual((1 - confidence) * (1 + 1e-9));
          if (n > failuresAllowed + 1) expect(found(n - 1)).toBeGreaterThan(1 - confidence);
        },
      ),
    );
  });

  it.each([
    [{ content: 1, confidence: 0.9 }, 'content'],
    [{ content: 0.9, confidence: 1 }, 'confidence'],
    [{ content: 0.9, confidence: 0.9, failuresAllowed: -1 }, 'failuresAllowed'],
    [{ content: 0.9, confidence: 0.9, failuresAllowed: 1, lotSize: 10 }, 'failuresAllowed'],
    [{ content: 0.9, confidence: 0.9, lotSize: 50, sides: 2 }, 'lotSize'],
    [{ content: 1 - 1e-12, confidence: 0.9 }, 'content'],
  ])('refuses %j', (input, field) => expect(refusedField('sample-size', input)).toBe(field));
});

interface VariablesAnswer {
  readonly qualityIndexLower?: number;
  readonly qualityIndexUpper?: number;
  readonly estimatedNonconforming: { readonly lower?: number; readonly upper?: number; readonly total: number };
  readonly accept?: boolean;
}

describe('variables plan of MIL-STD-414', () => {
  it(titleOf(reference('A5-414-SINGLE')), () => {
    const item = reference('A5-414-SINGLE');
    const sample = { values: item.inputs.data, upper: item.inputs.USL };
    const k = Number(item.expected.find(({ name }) => name.startsWith('k (Table B-1'))!.published);
    const M = Number(item.expected.find(({ name }) => name.startsWith('M (Table B-3'))!.published) / 100;
    const byK = runRow<VariablesAnswer>('variables-plan', { ...sample, k });
    expect(relativeError(byK.qualityIndexUpper!, recomputed(item, 'QU'))).toBeLessThan(1e-9);
    expect(byK.accept).toBe(true);
    const byM = runRow<VariablesAnswer>('variables-plan', { ...sample, maximumNonconforming: M });
    const unrounded = recomputed(item, 'estimated per cent defective at unrounded QU');
    expect(relativeError(100 * byM.estimatedNonconforming.upper!, unrounded)).toBeLessThan(1e-9);
    expect(byM.accept).toBe(true);
    const rounded = recomputed(item, 'estimated per cent defective at QU = 1.59');
    expect(relativeError(100 * estimatedNonconforming(1.59, 5), rounded)).toBeLessThan(1e-9);
    expect(runRow<VariablesAnswer>('variables-plan', { ...sample, k: 1.6 }).accept).toBe(false);
  });

  it(titleOf(reference('A5-414-DOUBLE')), () => {
    const item = reference('A5-414-DOUBLE');
    const { data: values, LSL: lower, USL: upper } = item.inputs;
    const answer = runRow<VariablesAnswer>('variables-plan', { values, lower, upper, maximumNonconforming: 0.0332 });
    expect(relativeError(answer.qualityIndexUpper!, recomputed(item, 'QU'))).toBeLessThan(1e-9);
    expect(relativeError(answer.qualityIndexLower!, recomputed(item, 'QL'))).toBeLessThan(1e-9);
    expect(relativeError(100 * answer.estimatedNonconforming.total, recomputed(item, 'p unrounded'))).toBeLessThan(
      1e-9,
    );
    expect(relativeError(100 * estimatedNonconforming(1.7, 5), recomputed(item, 'pL'))).toBeLessThan(1e-9);
    expect(answer.accept).toBe(true);
  });

  it(titleOf(reference('A5-414-KM-OPEN')), () => {
    const item = reference('A5-414-KM-OPEN');
    const rows = item.expected[0]!.published as readonly {
      n: number;
      k: string;
      M_percent: string;
      M_from_printed_k: number;
      M_range_for_k_rounding: [number, number];
    }[];
    expect(rows.length).toBeGreaterThan(90);
    for (const {
      n,
      k,
      M_percent,
      M_from_printed_k,
      M_range_for_k_rounding: [low, high],
    } of rows) {
      expect(Math.abs(100 * maximumNonconformingOf(Number(k), n) - M_from_printed_k)).toBeLessThan(1e-4);
      expect(Number(M_percent)).toBeGreaterThanOrEqual(low - 0.0051);
      expect(Number(M_percent)).toBeLessThanOrEqual(high + 0.0051);
    }
  });

  it('estimates exactly nothing from Q = (n − 1)/√n on, and everything at the other end', () => {
    expect(estimatedNonconforming(4 / Math.sqrt(5), 5)).toBeLessThan(1e-12);
    expect(estimatedNonconforming(5, 5)).toBe(0);
    expect(estimatedNonconforming(-5, 5)).toBe(1);
    expect(estimatedNonconforming(0, 9)).toBeCloseTo(0.5, 14);
  });

  it.each([
    [{ values: [1, 2], upper: 3 }, 'values'],
    [{ mean: 1, sd: 1, n: 2, upper: 3 }, 'n'],
    [{ values: [1, 2, 3] }, 'lower'],
    [{ values: [1, 2, 3], upper: 4, k: 1, maximumNonconforming: 0.1 }, 'k'],
    [{ values: [1, 2, 3], upper: 4, maximumNonconforming: 3.32 }, 'maximumNonconforming'],
    [{ values: [2, 2, 2], upper: 4 }, 'values'],
  ])('refuses %j', (input, field) => expect(refusedField('variables-plan', input)).toBe(field));
});
