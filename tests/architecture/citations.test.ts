import fs from 'node:fs';
import path from 'node:path';

const FOLDERS = ['src', 'tests', 'scripts', 'templates'];
const TEXT = /\.(ts|mjs|eta|yaml|py|sql|prisma)$/;

const files = (folder: string): string[] =>
  fs
    .readdirSync(folder, { withFileTypes: true, recursive: true })
    .map((entry) => path.join(entry.parentPath, entry.name))
    .filter((file) => !file.includes(`${path.sep}generated${path.sep}`));

interface Citation {
  readonly from: string;
  readonly document: string;
  /** Numbers of sections behind it: `docs/trade.md 9.2, 9.4 to 9.6`. */
  readonly sections: readonly string[];
}

const CITED = /docs\/([\w/-]+\.md)((?:(?: |,\s|\sto\s|\sand\s)\d+(?:\.\d+)?)*)/g;

/** In comments a line may end within a citation. */
const unwrapped = (text: string): string => text.replaceAll(/\s*\n\s*(?:\*|\/\/|#)\s?/g, ' ');

const citations: Citation[] = FOLDERS.flatMap(files)
  .filter((file) => TEXT.test(file) && !file.endsWith('citations.test.ts'))
  .flatMap((from) =>
    [...unwrapped(fs.readFileSync(from, 'utf8')).matchAll(CITED)].map((match) => ({
      from,
      document: `docs/${match[1]}`,
      sections: match[2]!.match(/\d+(?:\.\d+)?/g) ?? [],
    })),
  );

const sectionsOf = (document: string): Set<string> =>
  new Set([...fs.readFileSync(document, 'utf8').matchAll(/^#+ (\d+(?:\.\d+)?) /gm)].map((match) => match[1]!));

it('cites documents and numbered sections that a reader of the repository has', () => {
  expect(citations.filter(({ document }) => document === 'docs/trade.md').length).toBeGreaterThan(10);
  const missing = citations.flatMap(({ from, document, sections }) => {
    if (!fs.existsSync(document)) return [`${from}: ${document}`];
    const known = sectionsOf(document);
    return sections.filter((section) => !known.has(section)).map((section) => `${from}: ${document} ${section}`);
  });
  expect(missing).toEqual([]);
});

it('cites nothing else by section: a design that is not in the repository is of no use to anybody', () => {
  const others = FOLDERS.flatMap(files)
    .filter((file) => TEXT.test(file) && !file.endsWith('citations.test.ts'))
    .filter((file) =>
      /\b(?:design|domain|model|engines)(?:\.md)? §|\b(?:domain|design|engines)\.md/.test(
        fs.readFileSync(file, 'utf8'),
      ),
    );
  expect(others).toEqual([]);
});

it('numbers each section of the facts of the trade once', () => {
  const numbers = [...fs.readFileSync('docs/trade.md', 'utf8').matchAll(/^#+ (\d+(?:\.\d+)?) /gm)].map(([, n]) => n);
  expect(numbers.length).toBeGreaterThan(50);
  expect(new Set(numbers).size).toBe(numbers.length);
});

it('links only to files that are there', () => {
  const documents = ['README.md', 'DEVELOPERS.md', ...files('docs').filter((file) => file.endsWith('.md'))];
  const broken = documents.flatMap((document) =>
    [...fs.readFileSync(document, 'utf8').matchAll(/\]\((?!https?:|mailto:|#)([^)\s#]+)(?:#[^)]*)?\)/g)]
      .map((match) => path.join(path.dirname(document), match[1]!))
      .filter((target) => !fs.existsSync(target))
      .map((target) => `${document}: ${target}`),
  );
  expect(broken).toEqual([]);
});

it('names only files and folders that are there', () => {
  const documents = ['README.md', 'DEVELOPERS.md', ...files('docs').filter((file) => file.endsWith('.md'))];
  const named = documents.flatMap((document) =>
    [...fs.readFileSync(document, 'utf8').matchAll(/`((?:src|tests|scripts|templates|prisma)\/[^`\s]*)`/g)].map(
      (match) => ({ document, name: match[1]! }),
    ),
  );
  expect(named.length).toBeGreaterThan(100);
  // What stands in capitals is to be filled in: of these the folder.
  const place = (name: string) => (/[A-Z]{3}/.test(name) ? path.dirname(name) : name);
  const missing = named.filter(({ name }) => !fs.existsSync(place(name)));
  expect(missing.map(({ document, name }) => `${document}: ${name}`)).toEqual([]);
});

it('names every decision in docs/architecture.md', () => {
  const architecture = fs.readFileSync('docs/architecture.md', 'utf8');
  const decisions = fs.readdirSync('docs/decisions');
  expect(decisions.length).toBeGreaterThan(10);
  expect(decisions.filter((file) => !architecture.includes(`(decisions/${file})`))).toEqual([]);
});
