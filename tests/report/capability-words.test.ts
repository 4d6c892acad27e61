import type { CapabilityResult } from '../../src/assessment/assessment.js';
import type { Characteristic } from '../../src/kinds/specification.js';
import {
  beyondText,
  boundsText,
  keepingText,
  ownPointsText,
  ppkMovedText,
} from '../../src/report/phrases/capability.js';
import { sinceBeforeText } from '../../src/report/phrases/family-before.js';
import {
  besideLimits,
  besideSpread,
  indexText,
  lowerBoundText,
  probabilityText,
  spreadText,
} from '../../src/report/phrases/rounded.js';

it.each([
  [spreadText(2.03), '2.0'],
  [spreadText(0.0998), '0.10'],
  [spreadText(0.00727), '0.0073'],
  [spreadText(1234), '1200'],
  [spreadText(null), 'not stated'],
  [besideSpread(1.49988462, 0.00716), '1.4999'],
  [besideSpread(231, 2.04), '231.0'],
  [besideSpread(230.5, 0), '230.5'],
  [indexText(2.6), '2.60'],
  [lowerBoundText(1.3299), '1.32'],
  [lowerBoundText(0.927), '0.92'],
  [lowerBoundText(1.33), '1.33'],
  [lowerBoundText(-0.004), '-0.01'],
  [probabilityText(0.00025), '= 0.00025'],
  [probabilityText(4.6e-11), '< 0.0001'],
  [besideLimits(-117.479031, { upper: '-40' } as Characteristic), '-117.5'],
  [besideLimits(0.41237, { lower: '0.05', upper: '0.5' } as Characteristic), '0.412'],
])('rounds once and keeps zeros: %s', (found, expected) => {
  expect(found).toBe(expected);
});

const ITEM = { lower: '215', ucum: 'MPa' } as Characteristic;
const NOW = {
  ...{
    characteristic: 'rm',
    n: 58,
    lots: 14,
    builds: 14,
    mean: 230.410345,
    sd: 4.60455,
    ppk: 1.11558,
    ppkLower: 0.9273,
  },
  ...{ confidence: 0.95, bounds: { independent: 0.9273, builds: 0.93 } },
  spread: { effectiveValues: 47.3 },
  applied: null,
} as CapabilityResult;
const BEFORE = {
  record: { number: 'LR-L-1', revision: 1 },
  capability: [{ ...NOW, n: 52, lots: 13, mean: 231.0, sd: 2.04, ppk: 2.61123 }],
};

it('says in words what changed since the record before', () => {
  expect(sinceBeforeText(BEFORE, NOW, ITEM)).toBe(
    'Ppk was 2.61 in LR-L-1 revision 1 (n = 52), now 1.12 (n = 58): 1 lot more, 6 values more; the standard deviation grew from 2.0 to 4.6 MPa, the mean went from 231.0 to 230.4 MPa.',
  );
  expect(sinceBeforeText({ ...BEFORE, capability: [NOW] }, { ...NOW, ppk: null }, ITEM)).toBe(
    'Ppk was 1.12 in LR-L-1 revision 1 (n = 58), now not stated (n = 58): as many lots, as many values; the standard deviation stayed at 4.6 MPa, the mean stayed at 230.4 MPa.',
  );
  const moved = {
    ...NOW,
    applied: { lower: '217.15', upper: null, studies: ['EQ-3 rev 1'], ppk: 0.96, ppkLower: 0.78 },
  };
  expect(sinceBeforeText(BEFORE, moved, ITEM)).toMatch(/^Ppk against at least 215 was 2\.61 in LR-L-1 revision 1/);
  expect(ppkMovedText(moved)).toBe(
    '0.96, at least 0.78 (95 %) against at least 217.15, by EQ-3 rev 1; by these limits values are judged',
  );
  expect(sinceBeforeText({ ...BEFORE, capability: [] }, NOW, ITEM)).toBe('LR-L-1 revision 1 says nothing of it');
  expect(sinceBeforeText(null, NOW, ITEM)).toMatch(/^no record of an earlier lot/);
});

it('names the bound that counts, and builds where there is no index', () => {
  expect(boundsText(NOW)).toMatch(
    /^0\.92 if all values were independent; 0\.93 with the 14 builds.*as 47 independent ones\..*counts: the first\.$/,
  );
  const within = { builds: 14, keeping: 13, shareLower: 0.70327 };
  expect(keepingText({ ...NOW, ppk: null, within })).toBe(
    'in 13 of the last 14 builds every value keeps the limits: with 95 % confidence at least 70 % of builds do so',
  );
  expect(keepingText({ ...NOW, within })).toBe('');
});

it('says that a value misses its limit, on whichever side', () => {
  expect(beyondText({ min: 208.4, max: 235 }, ITEM)).toBe('at least one below the lower limit, the least 208.4');
  expect(beyondText({ min: 215, max: 235 }, ITEM)).toBe('none');
  expect(beyondText({ min: 1, max: 9 }, { upper: '8' } as Characteristic)).toBe(
    'at least one above the upper limit, the greatest 9',
  );
});

it('shows values with the places that were reported', () => {
  const points = [3.72, 4.2, 3.95].map((value) => ({ value, ofThisLot: true }));
  const item = { upper: '6.0', ucum: 'um' } as Characteristic;
  expect(ownPointsText({ chart: null, points } as unknown as CapabilityResult, item)).toBe('3, from 3.72 to 4.20 µm');
});
