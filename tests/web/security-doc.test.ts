import fs from 'node:fs';

const rows = fs
  .readFileSync('docs/security.md', 'utf8')
  .split('\n')
  .map((line) => /^\| (\d+\.\d+\.\d+) \|.*\| (`[^|]+`) \|$/.exec(line))
  .filter((match) => match !== null)
  .map(([, item, files]) => ({ item: item!, files: [...files!.matchAll(/`([^`]+)`/g)].map((match) => match[1]!) }));

it('reads the table', () => {
  expect(rows.length).toBeGreaterThan(20);
});

it.each(rows)('names tests for ASVS $item that speak of it', ({ item, files }) => {
  const speaks = new RegExp(`(?<![\\d.])${item.replaceAll('.', '\\.')}(?![\\d.]\\d)`);
  for (const file of files) expect([file, speaks.test(fs.readFileSync(file, 'utf8'))]).toEqual([file, true]);
});

/** Level 2 of ASVS 4.0.3: for each section its requirements, without those that were deleted or are of level 3 alone. */
const LEVEL_2 = `
1.1 1-7, 1.2 1-4, 1.4 1 4 5, 1.5 1-4, 1.6 1-4, 1.7 1-2, 1.8 1-2, 1.9 1-2, 1.10 1, 1.11 1-2, 1.12 2, 1.14 1-6,
2.1 1-12, 2.2 1-3, 2.3 1-3, 2.4 1-5, 2.5 1-7, 2.6 1-3, 2.7 1-6, 2.8 1-7, 2.9 1-3, 2.10 1-4,
3.1 1, 3.2 1-4, 3.3 1-4, 3.4 1-5, 3.5 1-3, 3.7 1, 4.1 1-3 5, 4.2 1-2, 4.3 1-3,
5.1 1-5, 5.2 1-8, 5.3 1-10, 5.4 1-3, 5.5 1-4, 6.1 1-3, 6.2 1-6, 6.3 1-2, 6.4 1-2, 7.1 1-4, 7.2 1-2, 7.3 1 3 4, 7.4 1-3,
8.1 1-4, 8.2 1-3, 8.3 1-8, 9.1 1-3, 9.2 1-4, 10.2 1-2, 10.3 1-3, 11.1 1-8,
12.1 1-3, 12.2 1, 12.3 1-6, 12.4 1-2, 12.5 1-2, 12.6 1, 13.1 1 3-5, 13.2 1-3 5 6, 13.3 1-2, 13.4 1-2,
14.1 1-4, 14.2 1-6, 14.3 2-3, 14.4 1-7, 14.5 1-4`
  .split(',')
  .flatMap((part) => {
    const [section, ...ranges] = part.trim().split(' ');
    return ranges.flatMap((range) => {
      const [from, to = from] = range.split('-').map(Number);
      return Array.from({ length: to! - from! + 1 }, (_, index) => `${section}.${from! + index}`);
    });
  });

it('says of each requirement of level 2 once whether it is met, and why', () => {
  const others = fs
    .readFileSync('docs/asvs.md', 'utf8')
    .split('\n')
    .map((line) =>
      /^\| (\d+\.\d+\.\d+(?:, \d+\.\d+\.\d+)*) \| (met|not met|none) \| (.{10,}?) \| ?(.*?) ?\|$/.exec(line),
    )
    .filter((match) => match !== null)
    .flatMap(([, items, state, , where]) => {
      const places = [...where!.matchAll(/`([^`]+)`/g)].map((match) => match[1]!);
      expect([items, state === 'met', places.filter((place) => !fs.existsSync(place))]).toEqual([
        items,
        places.length > 0,
        [],
      ]);
      return items!.split(', ');
    });
  const told = [...others, ...rows.map(({ item }) => item)];
  expect(told.filter((item, index) => told.indexOf(item) !== index)).toEqual([]);
  expect(LEVEL_2.filter((item) => !told.includes(item))).toEqual([]);
  // One of level 3 that is met may be told too, with its test.
  expect(others.filter((item) => !LEVEL_2.includes(item))).toEqual([]);
});
