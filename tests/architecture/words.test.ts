import fs from 'node:fs';
import path from 'node:path';
import { namesIn, textsIn } from '../support/source-texts.js';

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

/** Four words or more, whatever a template puts in counting as one. */
const isSentence = (text: string): boolean =>
  /[a-z]/i.test(text) && (text.match(/[\p{L}\p{N}'’-]+|…/gu) ?? []).length >= 4 && text.trim().includes(' ');

/** What errors are made of: their message, and a problem of an input with what was found, expected and helps. */
const OF_ERRORS = /^(throw|new \w*Error|found|expected|remedy|REMEDY|refuse\w*\(\)|\w*[pP]roblem\(\))$/;
/** What a schema says of a field, the standard that a check cites, the name of the scanner. */
const NAMES = /^(describe\(\)|clause|SCANNER)$/;

it.each(['src/process-logs', 'src/assessment'])(
  'lets %s hold codes and facts, and no sentence but in errors',
  (room) => {
    const known = [...namesIn('src/report')];
    /** A code of many words has its words in report, under its name. */
    const isCode = (text: string) => {
      const parts = text.split('…').map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
      return known.some((name) => new RegExp(`^${parts.join('.+')}$`).test(name));
    };
    const texts = textsIn(room).filter(({ text }) => isSentence(text));
    expect(texts.length).toBeGreaterThan(50);
    const leaked = texts.filter(
      ({ text, within }) => !within.some((name) => OF_ERRORS.test(name) || NAMES.test(name)) && !isCode(text),
    );
    expect(leaked.map(({ file, text, within }) => `${file}: ${text} (${within.join(' > ')})`)).toEqual([]);
  },
);
