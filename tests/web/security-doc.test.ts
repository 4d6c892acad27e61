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
