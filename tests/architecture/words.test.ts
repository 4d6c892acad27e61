import fs from 'node:fs';
import path from 'node:path';

const SECTIONS = 'src/records/sections';
/** Papers on units. What a code or a statement lacks is told by errors, whose messages stand where they are thrown. */
const PAPERS = ['label-sheet', 'paper', 'statement', 'unit-code', 'unit-sheet'].map(
  (name) => `src/records/papers/${name}.ts`,
);

/** They say why somebody may not sign, or change an account. */
const RULES = ['signing/order', 'signing/unit-objection', 'signing/before-signing', 'people/role-rules'].map(
  (name) => `src/${name}.ts`,
);

/** Begins like a sentence or a head, or goes on for three words. */
const WORDS = /['`](?:[A-Z][a-z]+|[^'`\n]*[a-z]+ [a-z]+ [a-z]+)[^'`\n]*['`]/g;
/** Values that the assessment holds, which sections compare with. */
const CODES = ["'does not conform'", "'cannot be decided'"];
const NOT_SHOWN = /^import |^\} from |^ *(?:\/\*\*|\*|\/\/)|throw new \w+Error\(/;

/** Every text in these files that looks like words for people, with its file. */
const wordsIn = (files: readonly string[]): string[] =>
  files.flatMap((file) =>
    fs
      .readFileSync(file, 'utf8')
      .split('\n')
      .filter((line) => !NOT_SHOWN.test(line))
      .flatMap((line) => line.replace(/code: '[^']*'/g, '').match(WORDS) ?? [])
      .filter((words) => !CODES.includes(words))
      .map((words) => `${file}: ${words}`),
  );

it('lets the sections of the record only lay out: their words stand in src/report/phrases', () => {
  const files = fs.readdirSync(SECTIONS).map((name) => path.join(SECTIONS, name));
  expect(files.length).toBeGreaterThan(12);
  expect(wordsIn(files)).toEqual([]);
});

it('lets labels, unit sheets and statements only lay out', () => {
  expect(wordsIn(PAPERS)).toEqual([]);
});

it('lets the rules that forbid a signature answer with codes and facts', () => {
  expect(wordsIn(RULES)).toEqual([]);
});
