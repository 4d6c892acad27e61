import fs from 'node:fs';
import path from 'node:path';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import { readYamlText } from '../../src/base/yaml-text.js';
import { readYaml } from '../../src/intake/yaml-document.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';

describe('a folder with YAML that cannot be read', () => {
  let services: Services;
  let folder: string;
  beforeEach(async () => {
    services = await openServices(path.join(temporaryFolder('data'), 'data'));
    folder = writeCell(makeCell());
  });
  afterEach(() => services.store.close());

  const machine = () => path.join(folder, 'site/machine.yaml');
  const problemsOf = async (): Promise<readonly Problem[]> => {
    const error = await services.intake.run(folder, 'local:tester').catch((caught: unknown) => caught);
    expect(error).toBeInstanceOf(BadInputError);
    return (error as BadInputError).problems;
  };

  it('tells a value that begins with *, and text that is no UTF-8, beside everything else', async () => {
    fs.writeFileSync(machine(), fs.readFileSync(machine(), 'utf8').replace('Hybrid cell 1', '*new cell'));
    // ISO 8859-1: ü is 0xFC.
    fs.writeFileSync(path.join(folder, 'site/supplier.yaml'), Buffer.from('kind: supplier\ntitle: Müller\n', 'latin1'));
    fs.appendFileSync(path.join(folder, 'site/powder.yaml'), 'colour: grey\n');
    const problems = await problemsOf();
    expect(problems).toHaveLength(3);
    expect(problems).toEqual(
      expect.arrayContaining([
        expect.objectContaining({ file: 'site/machine.yaml', line: 4, column: 13, code: 'reference' }),
        expect.objectContaining({ file: 'site/supplier.yaml', line: 2, column: 9, code: 'encoding' }),
        expect.objectContaining({ file: 'site/powder.yaml', field: 'colour', code: 'unknown-field' }),
      ]),
    );
    for (const { remedy } of problems) expect(remedy.length).toBeGreaterThan(3);
  });

  it('tells what is wrong with the sidecar of a log together with the documents', async () => {
    const lot = path.join(folder, 'lots/L-1/lot.yaml');
    fs.writeFileSync(lot, fs.readFileSync(lot, 'utf8').replace('file: logs/run.csv', '$&\n      units: units.yaml'));
    fs.writeFileSync(path.join(folder, 'lots/L-1/units.yaml'), 'kind: log-units\nformat: *1\n');
    fs.appendFileSync(machine(), 'colour: grey\n');
    expect(await problemsOf()).toEqual([
      expect.objectContaining({ file: 'lots/L-1/units.yaml', line: 2, column: 9, code: 'reference' }),
      expect.objectContaining({ file: 'site/machine.yaml', field: 'colour' }),
    ]);
  });

  it('keeps each document as it was received, comments and all, and the same document only once', async () => {
    const bytes = Buffer.from(`# réglée le 3 mars\r\n${fs.readFileSync(machine(), 'utf8')}`);
    fs.writeFileSync(machine(), bytes);
    await services.intake.run(folder, 'local:tester');
    const [kept] = await services.store.read.entries.evidenceNamedBy([{ kind: 'machine', key: 'M1', revision: 1 }]);
    expect(kept).toMatchObject({ name: 'document as received', fileName: 'machine.yaml', bytes: bytes.length });
    expect(fs.readFileSync(await services.store.evidence.pathOf(kept!.sha256))).toEqual(bytes);
    const files = await services.store.evidence.list();
    fs.appendFileSync(machine(), '# nothing else\n');
    await services.intake.run(folder, 'local:tester');
    expect(await services.store.evidence.list()).toEqual(files);
  });
});

describe('one YAML document', () => {
  const read = (text: string | Buffer) => readYamlText('x.yaml', typeof text === 'string' ? Buffer.from(text) : text);
  const bomb = [
    'a0: &a0 [x, x, x, x, x, x, x, x, x, x]',
    ...Array.from({ length: 9 }, (_, n) => `a${n + 1}: &a${n + 1} [${Array(10).fill(`*a${n}`).join(', ')}]`),
  ].join('\n');

  it.each<[string, string | Buffer, Partial<Problem>]>([
    [
      'a reference to nothing',
      'a: 1\nb: *c\n',
      { code: 'reference', line: 2, column: 4, remedy: expect.stringContaining('"*c"') },
    ],
    ['a reference to what comes later', 'a: *b\nb: &b 1\n', { code: 'reference', line: 1, column: 4 }],
    ['a star alone', 'a: *\n', { code: 'reference', line: 1, column: 4 }],
    ['a key that is a reference to nothing', '? *c\n: 1\n', { code: 'reference', line: 1, column: 3 }],
    ['a value that holds itself', 'a: &a\n  - *a\n', { code: 'reference', line: 2, column: 5 }],
    // "Billion laughs": ten lines that stand for 10^10 values (CWE-776).
    [
      'few lines that stand for very many values',
      bomb,
      { code: 'reference', found: expect.stringContaining('values') },
    ],
    ['nesting without end', `a: ${'['.repeat(300)}${']'.repeat(300)}\n`, { code: 'too-much', line: 1 }],
    [
      'nesting without end by blanks',
      Array.from({ length: 200 }, (_, n) => `${' '.repeat(n)}a:`).join('\n'),
      { code: 'too-much', line: 102 },
    ],
    [
      'half a million fields',
      Array.from({ length: 500_000 }, (_, n) => `k${n}: ${n}`).join('\n'),
      { code: 'too-much' },
    ],
    [
      'more fields in one place than any kind has',
      `a:\n${Array.from({ length: MOST.documentKeys + 1 }, (_, n) => `  k${n}: 1`).join('\n')}`,
      { code: 'too-much', line: 2 },
    ],
    ['commas without end', `a: [${','.repeat(MOST.documentTokens)}]`, { code: 'too-much' }],
    ['line ends without end', `a: b\n${'\n'.repeat(MOST.documentTokens)}`, { code: 'too-much' }],
    [
      'more references than anybody writes',
      `a: &a 1\nb: [${Array(10_001).fill('*a').join(', ')}]`,
      { found: '10001 references' },
    ],
    ['a tag that nobody knows', 'a: !!binary aGVsbG8=\n', { code: 'yaml', line: 1, column: 4 }],
    [
      'an overlong encoding',
      Buffer.from([0x61, 0x3a, 0x20, 0xc0, 0xaf, 0x0a]),
      { code: 'encoding', line: 1, column: 4 },
    ],
    [
      'a character that is cut at the end',
      Buffer.from('a: 1\nb: é').subarray(0, -1),
      { code: 'encoding', line: 2, column: 4 },
    ],
    [
      'UTF-16 with half a character',
      Buffer.from('\ufeffa: 1\nb: \ud83dx\n', 'utf16le'),
      { code: 'encoding', line: 2, column: 4, found: expect.stringContaining('byte 19') },
    ],
    [
      'UTF-16 that is cut',
      Buffer.from('\ufeffa: 12\n', 'utf16le').subarray(0, -1),
      { code: 'encoding', line: 1, column: 6 },
    ],
    [
      'UTF-16 without its mark',
      Buffer.from('a: \u00fc\n', 'utf16le'),
      { code: 'encoding', found: expect.stringContaining('0xfc') },
    ],
    [
      'UTF-32',
      Buffer.from([0xff, 0xfe, 0, 0, 0x61, 0, 0, 0]),
      { code: 'encoding', found: expect.stringContaining('UTF-32') },
    ],
  ])('is refused with %s', (_, text, expected) => {
    const { problems } = read(text);
    expect(problems[0]).toMatchObject({ file: 'x.yaml', ...expected });
  });

  it.each(['utf16le', 'utf16be'])('is read in %s with its mark', (encoding) => {
    const bytes = Buffer.from('\ufefftitle: Pr\u00fcf\u{10348} 0417\n', 'utf16le');
    const { read: document, problems } = read(encoding === 'utf16le' ? bytes : bytes.swap16());
    expect(problems).toEqual([]);
    expect(document!.value).toEqual({ title: 'Pr\u00fcf\u{10348} 0417' });
  });

  it('tells a field twice and a reference to nothing beside a fault of the text, each once', () => {
    const { problems } = read('a: 1\na: 2\nb: *c\nd: *e f\ng: "\\q"\n');
    expect(problems.map(({ code, line }) => [code, line])).toEqual([
      ['duplicate-key', 2],
      ['reference', 3],
      ['reference', 4],
      ['yaml', 5],
    ]);
  });

  it('tells what its kind does not know beside a reference to nothing', () => {
    const text = 'kind: supplier\nformat: 1\nsupplier: *s\ntitle: T\ntitle: T\ncolour: grey\n';
    expect(readYaml('x.yaml', Buffer.from(text)).problems.map(({ code, line }) => [code, line])).toEqual([
      ['reference', 3],
      ['duplicate-key', 5],
      ['unknown-field', 6],
    ]);
  });

  it('tells at most so many things that are wrong, and that there are more (ASVS 12.1.1)', () => {
    const text = `kind: supplier\nformat: 1\nsupplier: S1\ntitle: T\n${Array.from({ length: 9000 }, (_, n) => `k${n}: 1`).join('\n')}`;
    const { problems } = readYaml('x.yaml', Buffer.from(text));
    expect(problems).toHaveLength(1001);
    expect(problems.at(-1)).toMatchObject({ code: 'too-many-problems', file: 'x.yaml' });
  });

  it('counts columns in characters, after those that are longer than a byte', () => {
    const { problems } = read(Buffer.concat([Buffer.from('a: ½µ'), Buffer.from([0xff])]));
    expect(problems[0]).toMatchObject({ line: 1, column: 6, found: expect.stringContaining('0xff') });
  });

  it('lets many fields repeat one value', () => {
    const lines = ['first: &r { recipe: RC, revision: 0010 }', ...Array.from({ length: 2000 }, (_, n) => `f${n}: *r`)];
    const value = read(lines.join('\n')).read!.value as Record<string, unknown>;
    expect(value.f1999).toEqual({ recipe: 'RC', revision: '0010' });
  });

  it('takes a value in quotes for text', () => {
    expect(read('a: "*c"\n').read!.value).toEqual({ a: '*c' });
  });
});
