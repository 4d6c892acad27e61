import fs from 'node:fs';

/** First cells of the table of rooms in DEVELOPERS.md. */
function roomCells(developers: string): string[] {
  const lines = developers.split('\n');
  const head = lines.findIndex((line) => /^\|\s*room\s*\|/.test(line));
  if (head === -1) throw new Error('DEVELOPERS.md has no table that begins with "| room |"');
  const rows = lines.slice(head + 2);
  const end = rows.findIndex((line) => !line.startsWith('|'));
  return rows.slice(0, end).map((row) => row.split('|')[1]!);
}

it('DEVELOPERS.md says of every folder of src, once, what it holds', () => {
  const cells = roomCells(fs.readFileSync('DEVELOPERS.md', 'utf8'));
  const told = cells.flatMap((cell) => [...cell.matchAll(/`src\/([\w-]+)`/g)].map((match) => match[1]!));
  const folders = fs
    .readdirSync('src', { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map((entry) => entry.name);
  expect(told.sort()).toEqual(folders.sort());
});
