import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { PART_NAMES } from '../../src/dossier/facts.js';
import { Dossier } from '../../src/dossier/schema.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import { readPdf } from '../../src/pdf/reading/read-pdf.js';
import { renderRecord } from '../../src/records/render-record.js';
import { resultAnchor, verdictAnchor } from '../../src/report/anchors.js';
import { recordChangeText } from '../../src/report/phrases/record-changes.js';
import { parseTemplate } from '../../src/report/record-template.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { makeCell, makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects, withFile } from '../support/pdf-objects.js';
import { assessedLot, contentOf, servicesWith } from '../support/record-content.js';
import type { Services } from '../support/services.js';
import { withTool, withTools } from '../support/tools.js';

// Whole records are rendered, assessed and verified here, some of them several times.
let services: Services;
let assessed: AssessedLot;
let pdf: Buffer;

beforeAll(async () => {
  services = await servicesWith(makeCellWithHistory(14));
  assessed = await services.assessor.assess('L-1', 'local:tester');
  pdf = Buffer.from((await renderRecord(contentOf(assessed))).pdf);
});
afterAll(() => services.store.close());

const textOf = (bytes: Buffer) =>
  withFile(bytes, (file) => execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }));

it('gives the same bytes from the same content in another process and other time zones', () => {
  const folder = temporaryFolder('content');
  const { parts, ...content } = contentOf(assessed);
  fs.writeFileSync(path.join(folder, 'content.json'), JSON.stringify({ ...content, parts: [...parts] }));
  const zones = ['Pacific/Apia', 'America/St_Johns'];
  const script = `
    import fs from 'node:fs';
    import { createHash } from 'node:crypto';
    const { renderRecord } = await import('./src/records/render-record.ts');
    const { parts, ...content } = JSON.parse(fs.readFileSync(${JSON.stringify(path.join(folder, 'content.json'))}, 'utf8'));
    const found = [];
    for (const zone of ${JSON.stringify(zones)}) {
      process.env.TZ = zone;
      const { pdf } = await renderRecord({ ...content, parts: new Map(parts) });
      found.push([new Date(content.issue.printedAt).getHours(), createHash('sha256').update(pdf).digest('hex')]);
    }
    console.log(JSON.stringify(found));`;
  const hooks = path.resolve('tests/support/typescript.mjs');
  const other = execFileSync(process.execPath, ['--import', hooks, '--input-type=module', '--eval', script], {
    encoding: 'utf8',
    env: { ...process.env, NODE_OPTIONS: '', TZ: 'UTC', LC_ALL: 'tr_TR.UTF-8' },
  });
  const hours = [23, 7];
  expect(JSON.parse(other)).toEqual(hours.map((hour) => [hour, sha256Hex(pdf)]));
});

it('names every attachment once, with its digest', async () => {
  const { attachments } = await readPdf(pdf);
  const enclosure = JSON.parse(Buffer.from(attachments.get('enclosure.json')!).toString('utf8'));
  const named = enclosure.attachments.map((item: { name: string }) => item.name);
  expect(new Set(named).size).toBe(named.length);
  expect([...attachments.keys()].sort()).toEqual([...named, 'enclosure.json'].sort());
  expect(enclosure.template.sha256).toBe(sha256Hex(attachments.get('record-template.yaml')!));
});

withTools(['qpdf', 'pdftotext'], 'a whole record', () => {
  it('keeps the rules of PDF/A-3a and of tagged PDF that our checker knows', () => {
    expect(checkPdf(PdfObjects.read(pdf))).toEqual([]);
  });

  it('has every section of its template, in its order', () => {
    const text = textOf(pdf);
    const titles = parseTemplate(contentOf(assessed).templateText, 'x').sections.map(({ title }) => title);
    const body = text.slice(text.indexOf('Signature page') + 20);
    const places = titles.map((title) => body.search(new RegExp(`^ *${title}$`, 'm')));
    expect(places).not.toContain(-1);
    expect([...places].sort((a, b) => a - b)).toEqual(places);
  });

  it('says outright what this version does not record', () => {
    const text = textOf(pdf).replace(/\s+/g, ' ');
    expect(text).toContain('design: no finished implant was scanned');
    expect(text).toContain('by a version that did not record to whom units went');
  });

  it('leads from each value to its row and back, and names there all that stands behind it', () => {
    const objects = PdfObjects.read(pdf);
    const alts = [...objects.dictionaries()]
      .filter(({ dictionary }) => dictionary['/Subtype'] === '/Link')
      .map(({ dictionary }) => objects.text(dictionary['/Contents']) ?? '');
    const { facts } = assessed;
    facts.results.forEach((row, index) => {
      expect(alts.filter((alt) => alt.startsWith(`${row.value}, leads to page`)).length).toBeGreaterThan(0);
      expect(alts.filter((alt) => alt.startsWith(`${index + 1}, leads to page`)).length).toBeGreaterThan(1);
    });
    expect([resultAnchor(1), verdictAnchor(1)]).toEqual(['result 1', 'verdict 1']);
    const text = withFile(pdf, (file) => execFileSync('pdftotext', [file, '-'], { encoding: 'utf8' })).replace(
      /\s+/g,
      ' ',
    );
    const typed = facts.results.find(({ enteredBy }) => enteredBy !== '')!;
    for (const part of [
      typed.evidence.slice(0, 12),
      typed.instrument,
      'calibration',
      `entered by ${typed.enteredBy}`,
    ]) {
      expect(text).toContain(part);
    }
  });

  it('keeps the decimals that were reported', async () => {
    const cell = makeCell();
    const sheet = cell.sheets['lots/L-1/results/size.csv']!;
    sheet[0]!.value = '1.500';
    const text = textOf(Buffer.from((await renderRecord(contentOf(await assessedLot(cell)))).pdf));
    expect(text).toMatch(/L-1-I1 +L-1-I1 \(1\) +1\.500 mm/);
  });
});

withTool('pdftotext', 'the words of a record', () => {
  it('are those of the template that it carries', async () => {
    const templateText = contentOf(assessed)
      .templateText.replace('title: Materials', 'title: Where the metal came from')
      .replace('revision: 1', 'revision: 7')
      .replace(/ {2}copies: .*\n/, '  copies: Paper copies are not controlled here.\n');
    const { pdf: other } = await renderRecord({ ...contentOf(assessed), templateText });
    const text = textOf(Buffer.from(other));
    expect(text).toContain('Where the metal came from');
    expect(text).toContain('Paper copies are not controlled here.');
    expect(text).toContain('record template revision 7'.slice(0, 6));
    const { attachments } = await readPdf(Buffer.from(other));
    expect(Buffer.from(attachments.get('record-template.yaml')!).toString('utf8')).toBe(templateText);
  });

  it('are refused when the template leaves a caution out', async () => {
    const templateText = contentOf(assessed).templateText.replace(/ {2}copies: .*\n/, '');
    await expect(renderRecord({ ...contentOf(assessed), templateText })).rejects.toMatchObject({ code: 'BAD_INPUT' });
  });
});

withTools(['pdfdetach', 'pdftotext'], 'a stranger with the note', () => {
  it('finds every file whole, and computes the index again in SQL from the detached table', async () => {
    const folder = temporaryFolder('stranger');
    const file = path.join(folder, 'RECORD.pdf');
    fs.writeFileSync(file, pdf);
    const note = noteAfterDetaching(folder, file);
    const enclosure = JSON.parse(fs.readFileSync(path.join(folder, 'enclosure.json'), 'utf8'));
    const sums = enclosure.attachments.map(
      ({ name, sha256 }: { name: string; sha256: string }) => `${sha256}  ${name}\n`,
    );
    const checked = execFileSync('sha256sum', ['-c', '--strict'], {
      cwd: folder,
      input: sums.join(''),
      encoding: 'utf8',
    });
    expect(
      checked
        .trim()
        .split('\n')
        .every((line) => line.endsWith(': OK')),
    ).toBe(true);
    const [digest] = execFileSync('sha256sum', ['enclosure.json'], { cwd: folder, encoding: 'utf8' }).split(' ');
    expect(textOf(pdf).split('\f')[0]).toContain(digest);

    const rows = pooled(folder, note);
    const said = (step: number) => Number(new RegExp(`^ {2}${step}\\. .*: (-?[\\d.e-]+)$`, 'm').exec(note)![1]);
    expect(rows.n).toBe(Number(/n is (\d+)\./.exec(note)![1]));
    // The note states nine significant digits.
    expect(Math.abs(rows.mean / said(2) - 1)).toBeLessThan(5e-9);
    expect(Math.abs(rows.sd / said(3) - 1)).toBeLessThan(5e-9);
    const [, lower] = /\(mean - (-?[\d.]+)\)/.exec(note) ?? [];
    const [, upper] = /\((-?[\d.]+) - mean\)/.exec(note) ?? [];
    const sides = [
      ...(lower ? [(rows.mean - Number(lower)) / (3 * rows.sd)] : []),
      ...(upper ? [(Number(upper) - rows.mean) / (3 * rows.sd)] : []),
    ];
    expect(Math.abs(Math.min(...sides) / said(4) - 1)).toBeLessThan(5e-9);

    // Builds as what is independent: means and spread as the note says to take them.
    const meanOf = Number(/Mean M: (-?[\d.e-]+)$/m.exec(note)![1]);
    const sdOf = Number(/Standard deviation SQRT\(.*: (-?[\d.e-]+)$/m.exec(note)![1]);
    expect(Math.abs(rows.byBuilds.mean / meanOf - 1)).toBeLessThan(5e-9);
    expect(Math.abs(rows.byBuilds.sd / sdOf - 1)).toBeLessThan(1e-7);
  });
});

/** Does what the note says: the command stands in it. */
function noteAfterDetaching(folder: string, file: string): string {
  execFileSync('pdfdetach', ['-saveall', path.basename(file)], { cwd: folder });
  const note = fs.readFileSync(path.join(folder, 'how-to-recompute.txt'), 'utf8');
  expect(note).toContain('pdfdetach -saveall RECORD.pdf');
  return note;
}

/** Mean and spread of the pool as the note says where they stand. */
function pooled(folder: string, note: string) {
  const [, name] = /find characteristic (\w+)\./.exec(note)!;
  const history = JSON.parse(fs.readFileSync(path.join(folder, 'family-history.json'), 'utf8'));
  const { pool } = history.characteristics.find(
    ({ characteristic }: { characteristic: string }) => characteristic === name,
  );
  expect(pool.n).toBeGreaterThan(10);
  interface Size {
    readonly values: number;
    readonly builds: number;
    readonly mean: number;
    readonly sumSquaredDeviations: number;
  }
  const sum = (of: (size: Size) => number) => (pool.buildSizes as Size[]).reduce((total, size) => total + of(size), 0);
  const k = sum(({ builds }) => builds);
  const h = k / sum(({ builds, values }) => builds / values);
  const mean = sum((size) => size.builds * size.mean) / k;
  const v = sum((size) => size.sumSquaredDeviations + size.builds * (size.mean - mean) ** 2) / (k - 1);
  const w = pool.sumSquaredWithinBuilds / (pool.n - k);
  return {
    ...{ n: pool.n, mean: pool.mean, sd: Math.sqrt(pool.sumSquaredDeviations / (pool.n - 1)) },
    byBuilds: { mean, sd: Math.sqrt(v + (1 - 1 / h) * w) },
  };
}

describe('a later revision', () => {
  it('supersedes the one before and says in words what changed', async () => {
    const cell = makeCell();
    const own = await servicesWith(cell);
    try {
      await own.issuer.issue('L-1', 'local:tester');
      const [row] = cell.sheets['lots/L-1/results/size.csv']!;
      const before = row!.value!;
      Object.assign(row!, { value: '1.512', reason: 'misread vernier' });
      await own.intake.run(writeCell(cell), 'local:tester');
      const second = await own.issuer.issue('L-1', 'local:tester');
      const { attachments } = await readPdf(fs.readFileSync(second.file));
      const enclosure = JSON.parse(Buffer.from(attachments.get('enclosure.json')!).toString('utf8'));
      expect(enclosure.supersedes).toMatchObject({ number: 'LR-L-1', revision: 1 });
      // Codes and facts; the page says them in words.
      const changed = {
        code: 'value changed',
        was: { value: before },
        row: { value: '1.512' },
        reason: 'misread vernier',
      };
      expect(enclosure.changes).toContainEqual({
        code: 'fact',
        what: expect.objectContaining({ code: 'value changed' }),
      });
      const fact = enclosure.changes.find(({ what }: { what?: { code: string } }) => what?.code === 'value changed');
      expect(fact.what).toMatchObject(changed);
      expect(recordChangeText(fact)).toContain(`was ${before} mm and is 1.512 mm: misread vernier`);
      const third = await own.issuer.issue('L-1', 'local:tester');
      expect((await verifyRecord(third.file)).answer).toBe('issuer not compared');
      const last = await readPdf(fs.readFileSync(third.file));
      expect(JSON.parse(Buffer.from(last.attachments.get('enclosure.json')!).toString('utf8')).changes).toEqual([]);
    } finally {
      await own.store.close();
    }
  });
});

describe('a later revision over an earlier one whose lot file cannot be read', () => {
  it.each([
    ['is not here', async () => undefined, 'lot file not here', 'its lot file is not in this data folder'],
    [
      'has a form of other days',
      async (digest: string) => ({ digest, body: '{"format":0}' }),
      'lot file not readable',
      'its lot file cannot be read in this data folder',
    ],
    [
      'is no document at all',
      async (digest: string) => ({ digest, body: '{' }),
      'lot file not readable',
      'its lot file cannot be read in this data folder',
    ],
  ] as const)('is issued all the same, and says which and why: it %s', async (_, stored, why, words) => {
    const cell = makeCell();
    const own = await servicesWith(cell);
    try {
      const first = await own.issuer.issue('L-1', 'local:tester');
      Object.assign(cell.sheets['lots/L-1/results/size.csv']![0]!, { value: '1.712', reason: 'misread vernier' });
      await own.intake.run(writeCell(cell), 'local:tester');
      const { lotFiles } = own.store.read;
      const real = lotFiles.byDigest.bind(lotFiles);
      lotFiles.byDigest = (digest) => (digest === first.dossierSha256 ? stored(digest) : real(digest));
      const second = await own.issuer.issue('L-1', 'local:tester');
      expect(second.revision).toBe(2);
      const { attachments } = await readPdf(fs.readFileSync(second.file));
      const { supersedes, changes } = JSON.parse(Buffer.from(attachments.get('enclosure.json')!).toString('utf8'));
      expect(supersedes).toMatchObject({ number: 'LR-L-1', revision: 1 });
      expect(changes[0]).toEqual({ code: 'not compared', record: { number: 'LR-L-1', revision: 1 }, why, part: null });
      expect(recordChangeText(changes[0])).toBe(
        `Which facts changed since LR-L-1 revision 1 is not told here: ${words}; compare the two records themselves.`,
      );
      // What does not rest on its facts is told.
      expect(changes).toContainEqual(expect.objectContaining({ code: 'verdict', after: 'does not conform' }));
      expect(changes.map(({ code }: { code: string }) => code)).not.toContain('fact');
      expect((await verifyRecord(second.file)).answer).toBe('issuer not compared');
    } finally {
      await own.store.close();
    }
  });

  it('names the part of it that is missing', async () => {
    const cell = makeCell();
    const own = await servicesWith(cell);
    try {
      const first = await own.issuer.issue('L-1', 'local:tester');
      Object.assign(cell.sheets['lots/L-1/results/size.csv']![0]!, { value: '1.512', reason: 'misread vernier' });
      await own.intake.run(writeCell(cell), 'local:tester');
      const { lotFiles } = own.store.read;
      const before = Dossier.parse(JSON.parse((await lotFiles.byDigest(first.dossierSha256))!.body));
      const results = before.parts.find(({ name }) => name === PART_NAMES.results)!;
      const real = lotFiles.parts.bind(lotFiles);
      lotFiles.parts = (digests) => real(digests.filter((digest) => digest !== results.sha256));
      const second = await own.issuer.issue('L-1', 'local:tester');
      const { attachments } = await readPdf(fs.readFileSync(second.file));
      const [change] = JSON.parse(Buffer.from(attachments.get('enclosure.json')!).toString('utf8')).changes;
      expect(change).toMatchObject({ why: 'lot file not readable', part: results.name });
      expect(recordChangeText(change)).toContain(`the part ${results.name} of its lot file cannot be read`);
    } finally {
      await own.store.close();
    }
  });
});

describe('a copy for one institution', () => {
  it('leaves out the facts of other cases, verifies, and is a record of its own', async () => {
    const [own, other] = assessed.facts.lot.body.implants;
    const issued = await services.issuer.issue('L-1', 'local:tester', { forCase: own!.case });
    const bytes = fs.readFileSync(issued.file);
    const { attachments } = await readPdf(bytes);
    expect(attachments.has(`case-${own!.case}.json`)).toBe(true);
    expect(attachments.has(`case-${other!.case}.json`)).toBe(false);
    const report = await verifyRecord(issued.file);
    expect(report.answer).toBe('issuer not compared');
    expect(report.steps.find(({ step }) => step === 'lot file')).toMatchObject({
      code: 'lot file with parts withheld',
      facts: { cases: [other!.case] },
    });
    expect((await services.issuer.issue('L-1', 'local:tester')).number).toBe('LR-L-1');
  });

  it('is refused for a case that is not in the lot', async () => {
    await expect(services.issuer.issue('L-1', 'local:tester', { forCase: 'K-0' })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    });
  });
});

withTool('unzip', 'a package', () => {
  const unpacked = (zip: string): string => {
    const folder = temporaryFolder('bag');
    execFileSync('unzip', ['-q', zip, '-d', folder]);
    return path.join(folder, fs.readdirSync(folder)[0]!);
  };

  it('verifies with sha256sum and holds record, carried data and evidence', async () => {
    const issued = await services.issuer.issue('L-1', 'local:tester');
    const zip = path.join(temporaryFolder('zip'), 'package.zip');
    const written = await services.packages.write(issued, zip);
    const bag = unpacked(zip);
    for (const manifest of ['manifest-sha256.txt', 'tagmanifest-sha256.txt']) {
      const said = execFileSync('sha256sum', ['-c', '--strict', manifest], { cwd: bag, encoding: 'utf8' });
      expect(
        said
          .trim()
          .split('\n')
          .every((line) => line.endsWith(': OK')),
      ).toBe(true);
    }
    const listed = fs.readFileSync(path.join(bag, 'manifest-sha256.txt'), 'utf8').trim().split('\n');
    const there = fs
      .readdirSync(path.join(bag, 'data'), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile());
    expect(listed).toHaveLength(there.length);
    expect(written.files).toBe(there.length);
    const { evidence } = assessed.facts.dossier;
    for (const { sha256 } of evidence) expect(listed.some((line) => line.startsWith(sha256))).toBe(true);
    expect(fs.readFileSync(path.join(bag, 'bagit.txt'), 'utf8')).toBe(
      'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n',
    );
    const octets = there.reduce((sum, entry) => sum + fs.statSync(path.join(entry.parentPath, entry.name)).size, 0);
    expect(fs.readFileSync(path.join(bag, 'bag-info.txt'), 'utf8')).toContain(
      `Payload-Oxum: ${octets}.${there.length}\n`,
    );
  });

  it('for one institution carries no evidence and says so', async () => {
    const issued = await services.issuer.issue('L-1', 'local:tester', {
      forCase: assessed.facts.lot.body.implants[0]!.case,
    });
    const zip = path.join(temporaryFolder('zip'), 'package.zip');
    const { leftOut } = await services.packages.write(issued, zip);
    const bag = unpacked(zip);
    expect(fs.existsSync(path.join(bag, 'data', 'evidence'))).toBe(false);
    expect(leftOut).toHaveLength(1);
    expect(fs.readFileSync(path.join(bag, 'bag-info.txt'), 'utf8')).toContain('Evidence stays with the cell');
  });

  it('is refused when a file of evidence was altered', async () => {
    const issued = await services.issuer.issue('L-1', 'local:tester');
    const [first] = assessed.facts.dossier.evidence;
    const file = await services.store.evidence.pathOf(first!.sha256);
    const bytes = fs.readFileSync(file);
    fs.chmodSync(file, 0o600);
    fs.writeFileSync(file, Buffer.concat([bytes, Buffer.from('x')]));
    try {
      await expect(
        services.packages.write(issued, path.join(temporaryFolder('zip'), 'package.zip')),
      ).rejects.toMatchObject({ code: 'ALTERED' });
    } finally {
      fs.writeFileSync(file, bytes);
    }
  });
});
