import { localisationFactor, localisationFactorOfDepths } from '../../src/degradation/localisation.js';

describe('localisation factor (ASTM G46: deepest over mean penetration)', () => {
  it('is 1 for uniform loss and grows with the deepest pit', () => {
    expect(localisationFactor(120, 40)).toBe(3);
    expect(localisationFactor(40, 40)).toBe(1);
    expect(localisationFactorOfDepths([0.1, 0.1, 0.1])).toBe(1);
    expect(localisationFactorOfDepths([0, 10, 50])).toBeCloseTo(2.5, 12);
  });

  it('refuses depths that contradict each other or say nothing', () => {
    expect(() => localisationFactor(30, 40)).toThrow(expect.objectContaining({ field: 'deepestUm' }));
    expect(() => localisationFactor(30, 0)).toThrow(expect.objectContaining({ field: 'meanUm' }));
    expect(() => localisationFactorOfDepths([])).toThrow(expect.objectContaining({ field: 'depthsUm' }));
    expect(() => localisationFactorOfDepths([0, 0])).toThrow(expect.objectContaining({ field: 'depthsUm' }));
    expect(() => localisationFactorOfDepths([1, -1])).toThrow(expect.objectContaining({ field: 'depthsUm.1' }));
  });
});
