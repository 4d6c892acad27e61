import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { checksFor } from '../../src/assessment/checks/catalogue.js';
import { runCheck } from '../../src/assessment/checks/check.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { CasePart } from '../../src/dossier/schema.js';
import { readPdf } from '../../src/pdf/reading/read-pdf.js';
import type { IssuedRecord } from '../../src/records/record-issuer.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { type Cell, temporaryFolder, writeCell } from '../support/cell.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';
import { withTools } from '../support/tools.js';

/*
 * Two cases in one lot. Each has a word of its own in every text, name and file name that belongs to it alone; the copy for
 * the institution of one of them is searched, byte by byte, for those of the other.
 */
const [ONE, OTHER] = ['K-101-1', 'K-101-2'] as const;
type Code = typeof ONE | typeof OTHER;

/** Words that were planted, by the case that they belong to. */
const planted: Record<Code, string[]> = { [ONE]: [], [OTHER]: [] };
/** Contents of files that are kept apart: they are in no record at all. */
const apart: string[] = [];

/** A word that nothing else contains, short enough to stand on a line. */
function word(code: Code): string {
  const text = `${code === ONE ? 'ownq' : 'forq'}${String(planted[code].length).padStart(2, '0')}zx`;
  planted[code].push(text);
  return text;
}

function addCase(cell: Cell, code: Code, n: 1 | 2): void {
  // The other case comes first, so that equal bytes are known under the names that it has for them.
  const folder = `site/cases/${code === OTHER ? 'a' : 'b'}`;
  const document = cell.documents[`site/cases/L-1-${n}.yaml`]!;
  delete cell.documents[`site/cases/L-1-${n}.yaml`];
  const w = () => word(code);
  const file = (ending: string, text = `${w()} ${ending}\n`): string => {
    const name = `${w()}.${ending}`;
    cell.files[`${folder}/${name}`] = text;
    return name;
  };
  const secret = () => {
    apart.push(`${code.toLowerCase()}-secret-${apart.length}`);
    return apart.at(-1)!;
  };
  const by = { name: w(), institution: w() };
  const add = (name: string, body: Record<string, unknown>) => {
    cell.documents[`${folder}/${name}.yaml`] = { format: 1, ...body } as Cell['documents'][string];
  };
  // Codes of the site: one act may sign programs and people of several cases.
  const [person, software] = [`P-D${n}`, `CAD-${n}`];
  const site = w();
  add('case', {
    ...document,
    anatomicalSite: site,
    prescriber: by,
    prescription: { reference: w(), at: '2031-01-20T10:00:00+01:00' },
    prescribedCharacteristics: w(),
    prescriptionFile: file('pdf', secret()),
    otherMetals: w(),
    consignee: w(),
    attachments: [
      { file: file('txt', 'a form that every case has\n'), title: w() },
      { file: file('jpg', secret()), title: w(), personalData: true },
    ],
  });
  add('images', {
    kind: 'imaging-set',
    imagingSet: w(),
    case: code,
    takenOn: '2031-01-15',
    modality: 'CT',
    sliceMm: '0.6',
    file: file('zip', secret()),
    received: { by: 'P-OP', at: '2031-01-16T09:00:00+01:00' },
    trouble: w(),
  });
  add('designer', { kind: 'person', person, name: w(), function: w(), qualifications: [] });
  add('program', {
    kind: 'software',
    software,
    revision: 1,
    title: w(),
    version: w(),
    use: w(),
    validatedBy: { report: w(), on: '2030-05-01', by: person },
  });
  add('design', {
    kind: 'case-design',
    case: code,
    revision: 1,
    title: w(),
    outside: { why: w() },
    parameters: [{ parameter: w(), value: '42', ucum: 'mm' }],
    anatomicalSite: site,
    side: document.side,
    marking: `${w()} ${document.side}`,
    // The same model under two names.
    model: { file: file('stl', 'solid plate (invented)\n'), ucum: 'mm' },
    zones: [{ zone: w(), mesh: file('ply') }],
    recipe: { recipe: 'RC', revision: 2 },
    software: [{ software, revision: 1 }],
    imagingSets: [cell.documents[`${folder}/images.yaml`]!.imagingSet],
    designer: person,
  });
  add('acceptance', {
    kind: 'design-acceptance',
    case: code,
    iteration: 1,
    by,
    at: '2031-01-18T12:00:00+01:00',
    model: sha256Hex('solid plate (invented)\n'),
    original: file('eml', secret()),
    enteredBy: person,
  });
  add('window', {
    kind: 'support-window',
    case: code,
    revision: 1,
    title: w(),
    zones: [{ zone: w(), holdWeeks: 12, strengthLeft: '0.7', stiffnessLeft: '0.6' }],
    source: w(),
    givenBy: { name: w(), institution: w(), at: '2031-01-20T10:00:00+01:00' },
  });
}

let cell: SigningCell;
const records: Record<'copy' | 'otherCopy' | 'whole', IssuedRecord> = {} as never;

/** Something happens to both cases, and more to the other one, between two copies for the institution of the first. */
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    addCase(what, OTHER, 2);
    addCase(what, ONE, 1);
    const lot = what.documents['lots/L-1/lot.yaml']!;
    // The lot has the same form as the cases, under its own name.
    lot.attachments = [{ file: 'form.txt', title: 'form' }];
    what.files['lots/L-1/form.txt'] = 'a form that every case has\n';
  });
  const { issuer, stateActs } = cell.services;
  await issuer.issue('L-1', 'local:tester', { forCase: ONE });
  await issuer.issue('L-1', 'local:tester', { forCase: OTHER });
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
  for (const [code, folder] of [
    [ONE, 'b'],
    [OTHER, 'a'],
  ] as const) {
    const { documents } = cell.cell;
    const more = (name: string, field: string) => {
      const document = documents[`site/cases/${folder}/${name}.yaml`]!;
      Object.assign(document, { [field]: `${document[field]} ${word(code)}`, reason: word(code) });
    };
    more('case', 'otherMetals');
    more('images', 'trouble');
    documents[`site/cases/${folder}/design-2.yaml`] = {
      ...documents[`site/cases/${folder}/design.yaml`],
      revision: 2,
      title: word(code),
    };
  }
  await cell.services.intake.run(writeCell(cell.cell, cell.root), 'local:tester');
  for (const code of [ONE, OTHER]) {
    const thing = `case-design:${code}@2`;
    await cell.sign('P-PE', thing, { meaning: 'performed', reason: word(code) });
    await cell.sign('P-QE', thing, { meaning: 'approved', reason: word(code) });
  }
  await stateActs.withdrawDocument(
    await cell.prove('P-QE'),
    { kind: 'case-design', key: OTHER, revision: 1 },
    word(OTHER),
  );
  await stateActs.placeHold(await cell.prove('P-QE'), 'L-1', ['L-1-I2'], word(OTHER));
  await cell.services.assessor.assess('L-1', 'local:tester');
  await cell.review('L-1');
  await cell.reject('L-1', ['L-1-I2'], word(OTHER));
  records.otherCopy = await issuer.issue('L-1', 'local:tester', { forCase: OTHER });
  records.copy = await issuer.issue('L-1', 'local:tester', { forCase: ONE });
  records.whole = await issuer.issue('L-1', 'local:tester');
});
afterAll(() => cell.close());

const attachmentsOf = async ({ file }: IssuedRecord) => (await readPdf(fs.readFileSync(file))).attachments;
const jsonIn = async (record: IssuedRecord, name: string) =>
  JSON.parse(Buffer.from((await attachmentsOf(record)).get(name)!).toString('utf8'));

/** Every byte of a record and of its package: the file, its text, what it carries, and each file of the package. */
async function everythingOf(record: IssuedRecord): Promise<Buffer> {
  const zip = path.join(temporaryFolder('package'), 'package.zip');
  await cell.services.packages.write(record, zip);
  const folder = temporaryFolder('unpacked');
  execFileSync('unzip', ['-q', zip, '-d', folder]);
  const unpacked = fs
    .readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .flatMap((entry) => {
      const file = path.join(entry.parentPath, entry.name);
      return [Buffer.from(path.relative(folder, file)), fs.readFileSync(file)];
    });
  const text = execFileSync('pdftotext', [record.file, '-'], { maxBuffer: 1 << 28 });
  const raw = execFileSync('qpdf', ['--qdf', '--object-streams=disable', record.file, '-'], { maxBuffer: 1 << 28 });
  const names = [...(await attachmentsOf(record))].flatMap(([name, bytes]) => [Buffer.from(name), Buffer.from(bytes)]);
  // Words that wrap at the end of a line are found all the same.
  const joined = Buffer.from(text.toString('utf8').replace(/\s/g, ''));
  return Buffer.concat([fs.readFileSync(record.file), text, joined, raw, ...names, ...unpacked]);
}

const found = (bytes: Buffer, words: readonly string[]): string[] =>
  words.filter((one) => bytes.includes(one) || bytes.includes(Buffer.from(one, 'utf16le')));

withTools(['pdftotext', 'qpdf', 'unzip'], 'a copy for the institution of one case', () => {
  it('carries no word, name or file name of another case, whatever happened to that', async () => {
    const copy = await everythingOf(records.copy);
    expect(planted[OTHER].length).toBeGreaterThan(40);
    expect(found(copy, planted[OTHER])).toEqual([]);
    expect(found(copy, [...apart])).toEqual([]);
    // And it is the same the other way round.
    expect(found(await everythingOf(records.otherCopy), planted[ONE])).toEqual([]);
  });

  it('names no other case on its pages', () => {
    expect(execFileSync('pdftotext', [records.copy.file, '-'], { encoding: 'utf8' })).not.toContain(OTHER);
  });

  it('would be found out: the whole record carries every one of these words, and the copy those of its own case', async () => {
    const whole = await everythingOf(records.whole);
    expect(found(whole, planted[OTHER])).toEqual(planted[OTHER]);
    expect(found(whole, planted[ONE])).toEqual(planted[ONE]);
    expect(found(whole, apart)).toEqual([]);
  });
});

describe('the part of a case', () => {
  const partOf = async (code: Code) => CasePart.parse(await jsonIn(records.whole, `case-${code}.json`));

  it('holds its documents, the iteration that was built, and what they rest on alone', async () => {
    const { pinned } = await partOf(OTHER);
    const software = cell.cell.documents['site/cases/a/program.yaml']!.software;
    const designer = cell.cell.documents['site/cases/a/designer.yaml']!.person;
    const images = cell.cell.documents['site/cases/a/images.yaml']!.imagingSet;
    expect(pinned.map(({ kind, key, revision }) => `${kind} ${key} ${revision}`)).toEqual([
      `case ${OTHER} 2`,
      `case-design ${OTHER} 1`,
      `case-design ${OTHER} 2`,
      `design-acceptance ${OTHER}:1 1`,
      `imaging-set ${images} 2`,
      `person ${designer} 1`,
      `software ${software} 1`,
      `support-window ${OTHER} 1`,
    ]);
    const kinds = new Set(
      (await jsonIn(records.whole, 'dossier.json')).pinned.map(({ kind }: { kind: string }) => kind),
    );
    for (const kind of ['case', 'case-design', 'design-acceptance', 'imaging-set', 'support-window', 'software']) {
      expect(kinds).not.toContain(kind);
    }
  });

  it('calls a file as its own case calls it, whoever brought the same bytes first', async () => {
    const { documents } = cell.cell;
    const nameIn = async (code: Code, use: string) =>
      (await partOf(code)).evidence.find((item) => item.use === use)?.fileName;
    for (const [code, folder] of [
      [ONE, 'b'],
      [OTHER, 'a'],
    ] as const) {
      const model = documents[`site/cases/${folder}/design.yaml`]!.model.file;
      const form = documents[`site/cases/${folder}/case.yaml`]!.attachments[0].file;
      const { evidence } = await partOf(code);
      expect(evidence.map(({ fileName }) => fileName)).toEqual(expect.arrayContaining([model, form, 'personal data']));
      expect(await nameIn(code, `personal data of design-acceptance ${code}:1`)).toBe('personal data');
      expect(await nameIn(code, `attachment of case-design ${code} rev 1`)).toBe(
        documents[`site/cases/${folder}/design.yaml`]!.zones[0].mesh,
      );
    }
    const lot = (await jsonIn(records.whole, 'dossier.json')).evidence as { fileName: string; use: string }[];
    expect(lot.filter(({ use }) => use === 'attachment').map(({ fileName }) => fileName)).toEqual(['form.txt']);
  });

  it('keeps its files under a legal hold on its lot', async () => {
    const { evidence } = await partOf(OTHER);
    expect(evidence.length).toBeGreaterThan(5);
    for (const { sha256 } of evidence) {
      expect(await cell.services.store.read.trace.lotsRestingOn(sha256)).toEqual(['L-1']);
    }
  });

  it('holds what was signed on it and what was withdrawn of it, and the lot file does not', async () => {
    const { signatures, withdrawn } = await partOf(OTHER);
    const subjects = signatures.flatMap(({ statement }) => statement.subjects.map(({ kind }) => kind));
    expect(subjects).toEqual(expect.arrayContaining(['case-design', 'support-window']));
    expect(withdrawn).toMatchObject([{ kind: 'case-design', key: OTHER, revision: 1 }]);
    const dossier = await jsonIn(records.whole, 'dossier.json');
    expect(dossier.withdrawn).toEqual([]);
    const kinds = new Set(
      dossier.signatures.flatMap(({ statement }: (typeof signatures)[number]) => statement.subjects.map((s) => s.kind)),
    );
    expect(kinds).not.toContain('case-design');
  });
});

describe('verify', () => {
  it.each(['whole', 'copy'] as const)('finds the %s record unaltered', async (name) => {
    const report = await verifyRecord(records[name].file);
    expect(report.steps.filter(({ outcome }) => outcome === 'does not hold')).toEqual([]);
    expect(report.answer).toBe('issuer not compared');
  });

  it('names by its code alone what is withheld', async () => {
    const { steps, units } = await verifyRecord(records.copy.file);
    expect(steps.find(({ step }) => step === 'lot file')).toMatchObject({
      code: 'lot file with parts withheld',
      facts: { cases: [OTHER] },
    });
    expect(units.map(({ serial, verdict }) => [serial, verdict])).toEqual([['L-1-I1', 'conforms']]);
    expect((await jsonIn(records.copy, 'enclosure.json')).withheldCases).toEqual([OTHER]);
  });
});

it('a copy tells of its own implant what was decided and what changed, and names no record for another case', async () => {
  const enclosure = await jsonIn(records.copy, 'enclosure.json');
  const { signatures, states, earlier, changes, record } = enclosure;
  expect(signatures.map(({ statement }: { statement: { meaning: string } }) => statement.meaning)).toEqual([
    'reviewed',
    'released',
    'reviewed',
  ]);
  expect(states).toMatchObject([{ what: 'hold-placed', units: ['L-1-I1'], by: 'local:tester' }]);
  expect(record.draft).toBe(false);
  expect(earlier.map(({ number }: { number: string }) => number)).toEqual([`LR-L-1~${ONE}`]);
  expect(JSON.stringify(changes)).toContain(`"key":"${ONE}"`);
  expect(JSON.stringify(changes)).not.toMatch(/K-101-2|L-1-I2/);
  const other = await jsonIn(records.otherCopy, 'enclosure.json');
  expect(other.states).toMatchObject([
    { what: 'hold-placed', units: ['L-1-I2'], by: 'local:tester' },
    { what: 'hold-placed', units: ['L-1-I2'], by: expect.stringContaining('P-QE') },
  ]);
});

it('a document of a case that is withdrawn stands in the way of the implants of that case alone', async () => {
  const { units, checks } = await jsonIn(records.whole, 'assessment.json');
  expect(units.map(({ verdict }: { verdict: string }) => verdict)).toEqual(['conforms', 'cannot be decided']);
  const { findings } = checks.find(({ code }: { code: string }) => code === 'documents-not-withdrawn');
  expect(findings).toMatchObject([{ subjects: [{ kind: 'case-design', key: OTHER }], units: ['L-1-I2'] }]);
  expect(findings[0].facts).not.toHaveProperty('reason');
});

it('checks that do not say so look at nothing that belongs to one case alone', async () => {
  const facts = await cell.services.assessor.facts('L-1');
  // Windows are asked for only where the specification lets them decide.
  const { specification } = facts;
  const deciding = { ...specification, body: { ...specification.body, supportWindow: 'decides' as const } };
  const refused = new Proxy(
    { ...facts, specification: deciding },
    {
      get(target, name) {
        if (['cases', 'caseParts', 'withheldCases', 'pinned', 'evidence', 'withdrawn'].includes(String(name))) {
          throw new Error(`it looks at ${String(name)}`);
        }
        return Reflect.get(target, name);
      },
    },
  );
  const looking = checksFor([]).filter((check) => {
    try {
      runCheck(check, refused);
      return false;
    } catch {
      return true;
    }
  });
  expect(looking.map(({ code }) => code)).toEqual(
    checksFor([])
      .filter(({ looksAtCases }) => looksAtCases)
      .map(({ code }) => code),
  );
});

it('documents of two cases are not signed in one act', async () => {
  const both = [`case-design:${ONE}`, `case-design:${OTHER}`];
  expect(await refusalOf(cell.sign('P-QE', both, { meaning: 'performed' }))).toMatch(/things of one case/);
});
