import fs from 'node:fs';
import path from 'node:path';

const SECTIONS = 'src/records/sections';

/** Begins like a sentence or a head, or goes on for three words. */
const WORDS = /['`](?:[A-Z][a-z]+|[^'`\n]*[a-z]+ [a-z]+ [a-z]+)[^'`\n]*['`]/g;
/** Values that the assessment holds, which sections compare with. */
const CODES = ["'does not conform'", "'cannot be decided'"];

it('lets the sections of the record only lay out: their words stand in src/report/phrases', () => {
  const files = fs.readdirSync(SECTIONS).map((name) => path.join(SECTIONS, name));
  expect(files.length).toBeGreaterThan(12);
  const found = files.flatMap((file) =>
    fs
      .readFileSync(file, 'utf8')
      .split('\n')
      .filter((line) => !/^import |^\} from |^ *(?:\/\*\*|\*|\/\/)/.test(line))
      .flatMap((line) => line.match(WORDS) ?? [])
      .filter((words) => !CODES.includes(words))
      .map((words) => `${file}: ${words}`),
  );
  expect(found).toEqual([]);
});
