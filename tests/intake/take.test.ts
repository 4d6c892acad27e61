import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import fc from 'fast-check';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { readYamlText } from '../../src/base/yaml-text.js';
import { documentText } from '../../src/intake/document-text.js';
import type { MadeDocument } from '../../src/intake/made-documents.js';
import { kindNamed } from '../../src/kinds/catalogue.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { type Cell, csvText, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { SITE_DOCUMENTS, SITE_FILES } from '../support/documents/site.js';
import { openServices, type Services } from '../support/services.js';
import { storedIn } from '../support/stored-revisions.js';

const ACTOR = 'person:P-OP';

const freshServices = () =>
  openServices(DataFolder.createDemo(path.join(temporaryFolder('data'), 'data'), '2031-12-01T12:00:00Z'));

/** A cell with a lot, and a document of each kind of the site. */
function wholeCell(): Cell {
  const cell = makeCell();
  Object.assign(cell.documents, structuredClone(SITE_DOCUMENTS));
  Object.assign(cell.files, SITE_FILES);
  return cell;
}

function filesOf(document: Cell['documents'][string]) {
  const kind = kindNamed(document.kind)!;
  return kind.files(kind.schema.parse(document));
}

/** The same documents as a page would make them: objects, with the files beside them. */
function madeOf({ documents, sheets, files }: Cell): MadeDocument[] {
  const named = new Map(Object.entries(files).map(([name, text]) => [name, text]));
  for (const [name, rows] of Object.entries(sheets)) named.set(name, csvText(rows));
  return Object.entries(documents).map(([file, document]) => {
    const base = path.posix.dirname(file);
    const own = filesOf(document).map(({ path: name }) => path.posix.join(base, name));
    const wanted = document.kind === 'lot' ? [...named.keys()].filter((name) => name.startsWith(`${base}/`)) : own;
    const taken = wanted.filter((name) => named.has(name));
    const given = taken.map((name) => ({
      path: path.posix.relative(base, name),
      bytes: Buffer.from(named.get(name)!),
    }));
    for (const name of taken) named.delete(name);
    return { file, document, files: given };
  });
}

/** Changes nothing in what a document says: the order of its fields, and whether a number is given as text. */
function otherwise(value: unknown, random: () => number): unknown {
  if (Array.isArray(value)) return value.map((item) => otherwise(item, random));
  if (value === null || typeof value !== 'object') {
    return typeof value === 'number' && random() < 0.5 ? String(value) : value;
  }
  const fields = Object.entries(value).map(([name, inner]) => ({
    at: random(),
    name,
    inner: otherwise(inner, random),
  }));
  return Object.fromEntries(fields.sort((a, b) => a.at - b.at).map(({ name, inner }) => [name, inner]));
}

/** Minimal standard generator (Park and Miller), from 0 to below 1. */
function randomFrom(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}

describe('documents that were made on a page', () => {
  it('are stored as those of a folder, whatever their order of fields: same digests, same ties', async () => {
    const cell = wholeCell();
    const fromFolder = await freshServices();
    await fromFolder.intake.run(writeCell(cell), ACTOR);
    const expected = storedIn(fromFolder);
    await fromFolder.store.close();
    expect(expected.length).toBeGreaterThan(100);
    const made = madeOf(cell);
    const property = fc.asyncProperty(fc.integer({ min: 1, max: 2_147_483_646 }), async (seed) => {
      const random = randomFrom(seed);
      const documents = made.map((one) => ({
        ...one,
        document: otherwise(one.document, random) as MadeDocument['document'],
      }));
      const fromPages = await freshServices();
      try {
        await fromPages.intake.take(documents, ACTOR);
        const stored = storedIn(fromPages);
        expect(stored.filter((row) => !expected.includes(row))).toEqual([]);
        expect(stored.length).toBe(expected.length);
      } finally {
        await fromPages.store.close();
      }
    });
    await fc.assert(property, { numRuns: 2, seed: 14, endOnFailure: true });
  });

  it('are read again as they were given, for any text and any number', () => {
    const text = fc.oneof(
      fc.string({ unit: 'grapheme' }),
      fc.constantFrom('*x', '- a', '0417', '0.10', 'null', ' a\n\n b', '#'),
    );
    const value = fc.letrec((tie) => ({
      value: fc.oneof({ maxDepth: 3 }, text, fc.integer(), fc.array(tie('value'), { minLength: 1 }), tie('fields')),
      fields: fc.dictionary(fc.string({ minLength: 1, unit: 'grapheme-ascii' }), tie('value'), {
        minKeys: 1,
        noNullPrototype: true,
      }),
    })).fields;
    const asRead = (given: unknown): unknown => {
      if (Array.isArray(given)) return given.map(asRead);
      if (given !== null && typeof given === 'object') {
        return Object.fromEntries(Object.entries(given).map(([name, inner]) => [name, asRead(inner)]));
      }
      return String(given);
    };
    fc.assert(
      fc.property(value, (document) => {
        const { read, problems } = readYamlText('made.yaml', documentText(document as Record<string, unknown>));
        expect(problems).toEqual([]);
        expect(read!.value).toEqual(asRead(document));
      }),
      { seed: 14 },
    );
  });

  it('are written in the order of their schema, numbers as they were given, and what nobody knows last', () => {
    const text = documentText({
      colour: 'grey',
      massG: '0.10',
      operation: 'fill',
      inputs: [{ massG: '0.10', receipt: '0417' }],
      state: 'PS-1',
      format: 1,
      kind: 'powder-state',
      note: undefined,
    });
    expect(text).toBe(
      'kind: powder-state\nformat: 1\nstate: PS-1\noperation: fill\ninputs:\n  - receipt: 0417\n    massG: 0.10\ncolour: grey\nmassG: 0.10\n',
    );
  });
});

describe('what was made on a page', () => {
  let services: Services;
  beforeAll(async () => {
    services = await freshServices();
    await services.intake.run(writeCell(makeCell()), 'local:tester');
  });
  afterAll(() => services.store.close());

  const supplier = { kind: 'supplier', format: 1, supplier: 'S2', title: 'Another supplier' };

  async function refused(documents: readonly MadeDocument[]): Promise<readonly Problem[]> {
    const before = await services.store.read.ledger.size();
    const error = await services.intake.take(documents, ACTOR).then(
      () => undefined,
      (caught: unknown) => caught,
    );
    expect(error).toBeInstanceOf(BadInputError);
    expect(await services.store.read.ledger.size()).toBe(before);
    expect(fs.readdirSync(services.store.folder.spools)).toEqual([]);
    return (error as BadInputError).problems;
  }

  it('is stored in one change under the name of the person, with the text as evidence, and leaves nothing beside', async () => {
    const receipt = makeCell().documents['site/receipt.yaml']!;
    const report = await services.intake.take(
      [
        { file: 'supplier-S2.yaml', document: supplier },
        {
          file: 'receipt-R-12.yaml',
          document: {
            ...receipt,
            receipt: 'R-12',
            supplier: 'S2',
            certificate: { ...receipt.certificate, file: 'files/C-12.pdf' },
          },
          files: [{ path: 'files/C-12.pdf', bytes: Buffer.from('certificate (invented)') }],
        },
      ],
      ACTOR,
    );
    expect(report.documents.map(({ kind, key }) => `${kind} ${key}`)).toEqual(['receipt R-12', 'supplier S2']);
    const next = (await services.store.read.ledger.size()) + 1;
    const entries = await services.store.read.trail.before({ thing: 'R-12' }, next, 5);
    expect(entries[0]).toMatchObject({ actor: ACTOR });
    const named = await services.store.read.entries.evidenceNamedBy([{ kind: 'receipt', key: 'R-12', revision: 1 }]);
    const received = named.find(({ fileName }) => fileName === 'receipt-R-12.yaml')!;
    const text = fs.readFileSync(await services.store.evidence.pathOf(received.sha256), 'utf8');
    expect(text).toMatch(/^kind: receipt\nformat: 1\nreceipt: R-12\nsupplier: S2\n/);
    expect(named.map(({ fileName }) => fileName)).toContain('C-12.pdf');
    expect(fs.readdirSync(services.store.folder.spools)).toEqual([]);
  });

  it('changes nothing the second time', async () => {
    const before = await services.store.read.ledger.size();
    await services.intake.take([{ file: 'supplier-S2.yaml', document: supplier }], ACTOR);
    expect(await services.store.read.ledger.size()).toBe(before);
  });

  it('may name evidence that is stored already, by its hash', async () => {
    const certificate = Buffer.from('certificate (invented)');
    const sha256 = createHash('sha256').update(certificate).digest('hex');
    const receipt = makeCell().documents['site/receipt.yaml']!;
    const again = { ...receipt, receipt: 'R-14', certificate: { ...receipt.certificate, file: 'again.pdf' } };
    await services.intake.take(
      [{ file: 'receipt-R-14.yaml', document: again, files: [{ path: 'again.pdf', sha256 }] }],
      ACTOR,
    );
    const named = await services.store.read.entries.evidenceNamedBy([{ kind: 'receipt', key: 'R-14', revision: 1 }]);
    expect(named.find(({ name }) => name === 'certificate')).toMatchObject({ sha256 });
    const other = { file: 'receipt-R-14.yaml', document: again };
    const none = 'f'.repeat(64);
    expect(await refused([{ ...other, files: [{ path: 'again.pdf', sha256: none }] }])).toMatchObject([
      { code: 'stored-file', file: 'again.pdf', found: expect.stringContaining(none) },
    ]);
    // The document stays the same, so its file does.
    const bytes = Buffer.from('another certificate (invented)');
    expect(await refused([{ ...other, files: [{ path: 'again.pdf', bytes }] }])).toMatchObject([
      {
        code: 'recorded-file',
        file: 'receipt-R-14.yaml',
        field: 'certificate.file',
        expected: expect.stringContaining(sha256),
      },
    ]);
  });

  it.each<{ what: string; documents: () => MadeDocument[]; expected: Partial<Problem> }>([
    {
      what: 'the unit of another lot',
      documents: () => {
        const cell = makeCell();
        const lot = structuredClone(cell.documents['lots/L-1/lot.yaml']!);
        lot.lot = 'L-2';
        lot.builds[0].run = 102;
        lot.builds[0].build = 'M1-102';
        for (const part of [...lot.implants, ...lot.coupons]) part.build = 'M1-102';
        delete lot.builds[0].log;
        return [{ file: 'L-2/lot.yaml', document: lot }];
      },
      expected: {
        code: 'identity-in-use',
        file: 'L-2/lot.yaml',
        field: 'implants[0]',
        found: 'implant L-1-I1, which belongs to lot L-1',
      },
    },
    {
      what: 'a format that nobody knows',
      documents: () => [{ file: 'supplier-S3.yaml', document: { ...supplier, supplier: 'S3', format: 99 } }],
      expected: { code: 'format', file: 'supplier-S3.yaml', field: 'format', found: 'format 99 of supplier', line: 2 },
    },
    {
      what: 'a kind that nobody knows',
      documents: () => [{ file: 'thing.yaml', document: { ...supplier, kind: 'thing' } }],
      expected: { code: 'kind', file: 'thing.yaml', field: 'kind', found: '"thing"' },
    },
    {
      what: 'a path that leads out',
      documents: () => [{ file: '../supplier-S3.yaml', document: supplier }],
      expected: { code: 'path', file: '../supplier-S3.yaml' },
    },
    {
      what: 'a file that does not come with it',
      documents: () => [
        {
          file: 'receipt-R-13.yaml',
          document: {
            ...makeCell().documents['site/receipt.yaml'],
            receipt: 'R-13',
            certificate: { ...makeCell().documents['site/receipt.yaml']!.certificate, file: 'C-13.pdf' },
          },
        },
      ],
      expected: { code: 'file-missing', file: 'receipt-R-13.yaml', field: 'certificate.file' },
    },
  ])(
    'is refused with file, place and remedy, and nothing is stored, when it names $what',
    async ({ documents, expected }) => {
      const problems = await refused(documents());
      expect(problems).toContainEqual(expect.objectContaining(expected));
      for (const problem of problems) expect(problem.remedy.length).toBeGreaterThan(3);
    },
  );
});
