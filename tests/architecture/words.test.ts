import fs from 'node:fs';
import path from 'node:path';
import { Effect, Outcome, Verdict } from '../../src/assessment/assessment.js';
import { Role } from '../../src/dossier/statement.js';
import { ACTS } from '../../src/people/acts.js';
import { VERIFY_ANSWERS, VERIFY_OUTCOMES } from '../../src/report/phrases/commands/verify.js';
import { LABEL_WORDS } from '../../src/report/phrases/label-words.js';
import { VERIFY_FINDINGS, VERIFY_STEPS } from '../../src/report/phrases/verify.js';
import { codesIn, namesIn, type SourceText, textsIn, textsOf } from '../support/source-texts.js';

const FILES = fs
  .readdirSync('src', { recursive: true, encoding: 'utf8' })
  .map((file) => file.split(path.sep).join('/'))
  .filter((file) => file.endsWith('.ts') && !file.startsWith('store/generated'));

/** Codes that look like words: what acts and the things that they are done on are called, roles, verdicts, duties of labels and more. */
const CODES: readonly string[] = [
  ...ACTS.flatMap(({ act, kinds }) => [act, ...kinds]),
  ...Role.options,
  ...Verdict.options,
  ...Effect.options,
  ...Outcome.options,
  ...[LABEL_WORDS, VERIFY_FINDINGS, VERIFY_STEPS, VERIFY_OUTCOMES, VERIFY_ANSWERS].flatMap(Object.keys),
  ...['for information', 'invalid test'],
];
/** Anchors in a record, relations of its attachments, fields of a package, what a CSV or the audit trail calls something, media types. */
const WRITTEN_NAMES = [
  ...[
    'section cautions',
    'section release',
    'section inspection',
    'open tests',
    'log findings',
    'Source',
    'Supplement',
    'Data',
  ],
  ...['signed head', 'taken in', 'text/csv; charset=utf-8'],
];

/** Looks like words for people: two of them in a row, or one that begins like a label. */
const isWords = (text: string): boolean => /\p{L}[,.:;”"]?\)? [(“"]?\p{L}|^\p{Lu}\p{Ll}/u.test(text);

/** What errors are made of: their message, a problem of an input with what was found, expected and helps, a rule of input. */
const OF_ERRORS =
  /^(throw|super\(\)|new \w*Error|found|expected|remedy|REMEDY|refuse\w*\(\)|\w*[pP]roblem\(\)|(regex|min|max|refine|string|enum|addIssue|datetime|asked|identifier|typedPassword|givenReason|several|readable|parseForm|fail)\(\))$/;
/** Where no words for people stand: decorators, types, comparisons, codes and names, elements of XML. */
const NOT_SHOWN =
  /^(@\w+|type|compared|code|kind|(readAnswer|textIn|allIn|element|describe|actNamed|whyNot|has|includes|startsWith|endsWith|setHeader)\(\))$/;

const wordsIn = (texts: readonly SourceText[]): SourceText[] =>
  texts.filter(
    ({ text, within }) =>
      isWords(text) &&
      !CODES.includes(text) &&
      !WRITTEN_NAMES.includes(text) &&
      !within.some((name) => OF_ERRORS.test(name) || NOT_SHOWN.test(name)),
  );

/** Words for people in these files, each with its file. */
const wordsOf = (files: readonly string[]): string[] =>
  files.flatMap((file) => {
    const texts = textsOf(`src/${file}`, fs.readFileSync(`src/${file}`, 'utf8'));
    return wordsIn(texts).map(({ text }) => `${file}: ${text}`);
  });

const named = (pattern: RegExp): string[] => FILES.filter((file) => pattern.test(file));

it('lets the record, its package and the printed audit trail only lay out: their words stand in src/report/phrases', () => {
  const sections = named(/^records\/sections\//);
  expect(sections.length).toBeGreaterThan(12);
  const around = ['render-record', 'package-writer', 'paper-writer', 'trail-report', 'signatures'];
  const answers = named(/^trace\/(render-answer|trace-report|recall-report)\.ts$/);
  expect(wordsOf([...sections, ...answers, ...around.map((name) => `records/${name}.ts`)])).toEqual([]);
});

it('lets labels, unit sheets and statements only lay out', () => {
  // What a statement lacks is told by an error, whose message stands where it is thrown.
  expect(wordsOf(named(/^records\/papers\/(?!statement-facts)/))).toEqual([]);
});

it('lets rules that forbid a change of an account answer with codes and facts', () => {
  expect(wordsOf(['people/role-rules.ts'])).toEqual([]);
});

it('lets figures, charts and tables of report itself only lay out', () => {
  // What a template of the record lacks is told by errors; a picture in a page is markup.
  const files = named(/^report\/(?!phrases\/|record-template|charts\/scene-svg)/);
  expect(files.length).toBeGreaterThan(20);
  expect(wordsOf(files)).toEqual([]);
});

const PAGES = named(
  /-controller\.ts$|^desk\/|-view\.ts$|^people\/people-acts\.ts$|^signing\/unit-acts\.ts$|^web\/pages\.ts$/,
);

it('lets controllers and what fills their pages hold no title, label or sentence', () => {
  expect(PAGES.filter((file) => file.endsWith('-controller.ts')).length).toBeGreaterThan(20);
  expect(wordsOf(PAGES)).toEqual([]);
});

it('lets commands print facts and phrases alone', () => {
  const commands = named(/-run\.ts$|^qualification\/run-demo\.ts$/);
  expect(commands.length).toBeGreaterThan(25);
  expect(wordsOf([...commands, 'custody/say-integrity.ts'])).toEqual([]);
});

it('lets whatever is found in a record that is verified be codes and facts', () => {
  // What a signature can lack has a code of its own.
  const words = wordsOf(named(/^(verify|calculator)\/(?!.*-command\.ts$)/));
  expect(words.filter((text) => !text.endsWith(': unknown algorithm'))).toEqual([]);
});

describe('rooms of facts', () => {
  const ROOMS = ['ledger', 'store', 'custody', 'lots', 'signing'];
  /** A code has its words in report, under its name; one that no person reads is a member of a type. */
  const codes = new Set([
    ...namesIn('src/report'),
    ...['src/dossier', ...ROOMS.map((room) => `src/${room}`)].flatMap((room) => [...codesIn(room)]),
  ]);
  /** Beside codes: names of tables, and of places in a damaged database, each by its number. */
  const isName = ({ text, within }: SourceText): boolean =>
    within.includes('nextId()') ||
    (text.includes('…') && within.some((name) => /^(key|guarded\(\)|plainSubject\(\)|use)$/.test(name)));
  /** The language of the engines, which only their folders speak. */
  const isSql = ({ file, text }: SourceText): boolean =>
    /^src\/store\/(?:sqlite\/|postgresql\/|plain-questions\.ts$)/.test(file) &&
    /\b(SELECT|FROM|WHERE|AND|OR|ON|AS|IN|PRAGMA|CREATE|DROP|BEGIN|INSERT|UPDATE|DELETE|CASE|FILTER|ORDER BY|READ ONLY)\b|::boolean|^to_char\(|^strftime\(|^"Link" l$/.test(
      text,
    );

  it.each(ROOMS)('%s tells codes, facts and names, and no sentence but in errors', (room) => {
    const texts = named(new RegExp(`^${room}/(?!.*-command\\.ts$)`)).flatMap((file) =>
      textsOf(`src/${file}`, fs.readFileSync(`src/${file}`, 'utf8')),
    );
    expect(texts.length).toBeGreaterThan(100);
    const words = wordsIn(texts).filter((one) => !codes.has(one.text) && !isName(one) && !isSql(one));
    expect(words.map(({ file, text }) => `${file}: ${text}`)).toEqual([]);
  });

  it.each([
    ['src/custody/daily-check.ts', 'DAILY_CHECK.faults', "'the check found something'", 'the check found something'],
    ['src/ledger/checkpoint.ts', "{ what: 'is missing' }", "{ what: 'the head is missing' }", 'the head is missing'],
  ])('finds a sentence that is planted in %s', (file, from, to, found) => {
    const source = fs.readFileSync(file, 'utf8');
    expect(source).toContain(from);
    const texts = wordsIn(textsOf(file, source.replace(from, to))).map(({ text }) => text);
    expect(texts.filter((text) => !codes.has(text))).toContain(found);
  });
});

/** Names and operators of PDF, and markup, are what the engine writes; words are longer, and stand beside another. */
const isOfPdf = ({ text }: SourceText): boolean =>
  /^\s*(<|xmlns)/.test(text) || !/\p{L}{3,}/u.test(text) || !/\S\s+\S/.test(text);

it('lets the engine that draws pages have no words of its own', () => {
  const codes = codesIn('src/pdf');
  const texts = named(/^pdf\//).flatMap((file) => textsOf(`src/${file}`, fs.readFileSync(`src/${file}`, 'utf8')));
  expect(
    wordsIn(texts)
      .filter((one) => !isOfPdf(one) && !codes.has(one.text))
      .map(({ file, text }) => `${file}: ${text}`),
  ).toEqual([]);
});

describe('a controller into which words are planted', () => {
  const file = 'src/desk/state-controller.ts';
  const controller = fs.readFileSync(file, 'utf8');
  const planted = (from: string, to: string): string[] => {
    expect(controller).toContain(from);
    return wordsIn(textsOf(file, controller.replaceAll(from, to))).map(({ text }) => text);
  };

  it.each([
    ['a title', 'WITHDRAWAL.title', "'Withdraw a document'", 'Withdraw a document'],
    ['a label', 'FORM_LABELS.password', "'Password'", 'Password'],
    ['a link', 'PAGE_TITLES.lot(lot)', '`Back to lot`', 'Back to lot'],
    ['a sentence', 'act.lead', "'units go on from there'", 'units go on from there'],
  ])('is found by %s', (_what, from, to, found) => {
    expect(planted(from, to)).toContain(found);
  });

  it('is not found by the message of an error', () => {
    expect(planted('new NotFoundError(kindText(kind),', "new NotFoundError('a thing like that',")).toEqual([]);
  });
});

/** Four words or more, whatever a template puts in counting as one. */
const isSentence = (text: string): boolean =>
  /[a-z]/i.test(text) && (text.match(/[\p{L}\p{N}'’-]+|…/gu) ?? []).length >= 4 && text.trim().includes(' ');

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
    // A fact may be called as a part of an error is, and stays a fact.
    const isFact = (name: string) => name === 'facts' || name === 'what';
    const isElsewhere = (name: string) => OF_ERRORS.test(name) || NAMES.test(name);
    const leaked = texts.filter(
      ({ text, within }) => !isCode(text) && (within.some(isFact) || !within.some(isElsewhere)),
    );
    expect(leaked.map(({ file, text, within }) => `${file}: ${text} (${within.join(' > ')})`)).toEqual([]);
  },
);
