import { nearest } from '../../src/store/near-keys.js';

const entry = (key: string) => ({ kind: 'lot', key });
const keys = (asked: string, known: readonly string[]) => nearest(asked, known.map(entry)).map(({ key }) => key);

it('finds what is spelt nearly so, the nearest first, whatever the capitals', () => {
  expect(keys('l-2026-013', ['L-2026-031', 'L-2026-013', 'L-2026-014', 'M-7'])).toEqual([
    'L-2026-013',
    'L-2026-014',
    'L-2026-031',
  ]);
});

it('finds what contains the text, and nothing for a letter', () => {
  expect(keys('H7731', ['SB:H7731', 'SB:H8012'])).toEqual(['SB:H7731']);
  expect(keys('X', ['Y', 'Z'])).toEqual([]);
});
