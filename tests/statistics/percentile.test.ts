import { type PercentileRule, samplePercentile } from '../../src/statistics/percentile.js';
import { recomputed, reference, titleOf } from '../reference/open.js';
import { relativeError } from '../support/numbers.js';

describe('sample percentiles by named rule', () => {
  const item = reference('A6-PERCENTILE');
  it.each([
    [6, 'p(n+1) rule (R type 6)'],
    [7, 'R type 7 (spreadsheet default)'],
    [4, 'R type 4'],
    [5, 'R type 5'],
    [8, 'R type 8'],
    [9, 'R type 9'],
    [1, 'R type 1'],
  ] as [PercentileRule, string][])(`${titleOf(item)}: type %d`, (rule, name) => {
    const found = samplePercentile(item.inputs.data, item.inputs.p, rule);
    expect(relativeError(found, recomputed(item, name))).toBeLessThan(1e-9);
  });

  it('stays within the sample and refuses what is no percentile', () => {
    expect(samplePercentile([3, 1, 2], 0.999, 6)).toBe(3);
    expect(samplePercentile([3, 1, 2], 0.001, 8)).toBe(1);
    expect(() => samplePercentile([], 0.5, 7)).toThrow(expect.objectContaining({ field: 'values' }));
    expect(() => samplePercentile([1], 1, 7)).toThrow(expect.objectContaining({ field: 'p' }));
  });
});
