import fs from 'node:fs';
import path from 'node:path';

const SRC = path.resolve('src');
const NAMED =
  /\bfrom '(\.[^']+)'|^import '(\.[^']+)'|\bimport\('(\.[^']+)'\)|new URL\('(\.[^']+\.js)', import\.meta\.url\)/gm;

/** The program starts here; a worker is named by the file that starts it. The others write the documents. */
const STARTS = [
  ...['cli.ts', 'cli/command-table.ts', 'published-answers.ts', 'kinds/formats-doc.ts', 'kinds/starters.ts'],
  ...['gaps/rules-doc.ts', 'ties-doc.ts', 'reporting-times-doc.ts', 'checklists.ts'].map(
    (name) => `report/phrases/${name}`,
  ),
];
/** Holds a published number that no calculation offers yet. */
const APART = ['statistics/percentile.ts'];

const files = fs
  .readdirSync(SRC, { recursive: true, encoding: 'utf8' })
  .map((name) => name.split(path.sep).join('/'))
  .filter((name) => name.endsWith('.ts') && !name.endsWith('.d.ts') && !name.includes('/generated'));

function namedIn(name: string): string[] {
  return [...fs.readFileSync(path.join(SRC, name), 'utf8').matchAll(NAMED)].map(([, ...found]) =>
    path.posix.join(path.posix.dirname(name), found.find((one) => one !== undefined)!).replace(/\.js$/, '.ts'),
  );
}

it('leaves no file of the program that nothing reaches', () => {
  const reached = new Set<string>();
  const open = [...STARTS];
  for (let name = open.pop(); name !== undefined; name = open.pop()) {
    if (reached.has(name) || !files.includes(name)) continue;
    reached.add(name);
    open.push(...namedIn(name));
  }
  expect(files.filter((name) => !reached.has(name))).toEqual(APART);
});
