import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects } from '../support/pdf-objects.js';
import { assessedLot } from '../support/record-content.js';
import { SmallInstallation } from '../support/sealed-record.js';
import { openServices, type Services } from '../support/services.js';
import { hasTool } from '../support/tools.js';

/** Codes and names that are not written in Latin letters. */

const LOT = '骨板-Λ-1';
const NAMES = {
  family: 'Πλάκα καταγμάτων · Пластина · 骨板 · 뼈판',
  operator: 'Ольга Примерова',
  site: 'λεκάνη · таз · 骨盤 · こつばん · 골반',
  institution: 'בית חולים 12 · مستشفى',
};

/** The plain cell with the lot, its units and coupons under other codes. */
function renamed(cell: Cell): void {
  const other = <T>(value: T): T =>
    JSON.parse(
      JSON.stringify(value)
        .replaceAll(/(?<!P)L-1-I/g, 'Имплант-')
        .replaceAll(/(?<!P)L-1(?!\d)/g, LOT),
    ) as T;
  for (const part of [cell.documents, cell.sheets, cell.files]) {
    const entries = Object.entries(other(part));
    for (const name of Object.keys(part)) delete (part as Record<string, unknown>)[name];
    Object.assign(part, Object.fromEntries(entries));
  }
  for (const document of Object.values(cell.documents)) {
    if (document.kind === 'family') document.title = NAMES.family;
    if (document.kind === 'person' && document.person === 'P-OP') document.name = NAMES.operator;
    if (document.kind !== 'case') continue;
    document.anatomicalSite = NAMES.site;
    document.prescriber = { name: NAMES.operator, institution: NAMES.institution };
  }
}

it('a lot in Greek, Cyrillic and Chinese goes from its folder to a sealed record that verifies', async () => {
  const cell = makeCell();
  renamed(cell);
  const lot = await assessedLot(cell, LOT);
  expect(lot.assessment.units.map(({ serial }) => serial)).toEqual(['Имплант-1', 'Имплант-2']);
  const installation = new SmallInstallation();
  const signatures = [installation.signed(lot, 'reviewed', 'Реа'), installation.signed(lot, 'released', 'Ρόλφ')];
  const { bytes } = await installation.render(lot, installation.issueOf(lot, 1, signatures));
  const file = path.join(temporaryFolder('record'), `LR-${LOT}-r1.pdf`);
  fs.writeFileSync(file, bytes);
  const report = await verifyRecord(file);
  expect(report.steps.filter(({ outcome }) => outcome === 'does not hold')).toEqual([]);
  expect(report.answer).toBe('issuer not compared');
  if (!hasTool('pdftotext') || !hasTool('qpdf')) return;
  expect(checkPdf(PdfObjects.read(bytes))).toEqual([]);
  const text = execFileSync('pdftotext', ['-raw', file, '-'], { encoding: 'utf8', maxBuffer: 1 << 28 });
  for (const name of [LOT, 'Имплант-2', 'Ρόλφ', NAMES.family, NAMES.operator]) expect(text).toContain(name);
  expect(text).not.toContain('[U+');
});

/** One for all that is refused: nothing of it is stored. */
let services: Services;
beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('data'), 'data'));
});
afterAll(() => services.store.close());

it('a character that no font has is refused with its code and place, in documents, sheets, logs and names of files', async () => {
  const problemsOf = async (spoil: (cell: Cell) => void) => {
    const cell = makeCell();
    spoil(cell);
    const error = await services.intake.run(writeCell(cell), 'local:tester', { check: true }).catch((e: unknown) => e);
    expect(error).toBeInstanceOf(BadInputError);
    return (error as BadInputError).problems.map(({ code, file, line, field, found }) => [
      code,
      file,
      line,
      field,
      found,
    ]);
  };
  const problems = await problemsOf((cell) => {
    cell.documents['site/machine.yaml']!.title = 'Zelle 🧪 1';
    cell.documents['site/ไทย.yaml'] = { kind: 'supplier', format: 1, supplier: 'S7', title: 'Seventh' };
    cell.sheets['lots/L-1/results/tensile.csv']![0]!.reason = 'ไม่';
  });
  expect(problems).toEqual(
    expect.arrayContaining([
      ['character', 'site/machine.yaml', 4, 'title', '"🧪" (U+1F9EA, character 7)'],
      ['character', 'site/ไทย.yaml', undefined, 'name of the file', expect.stringContaining('U+0E44')],
      ['character', 'lots/L-1/results/tensile.csv', 2, 'reason', expect.stringContaining('U+0E21')],
    ]),
  );
  const inLog = await problemsOf((cell) => {
    const log = 'lots/L-1/logs/run.csv';
    cell.files[log] = cell.files[log]!.replaceAll(',peen,', ',🧪,');
  });
  expect(inLog).toContainEqual([
    'character',
    'lots/L-1/logs/run.csv',
    undefined,
    'zone or step',
    expect.stringContaining('U+1F9EA'),
  ]);
});

it('an identifier with a character that turns the text, or in letters that are not composed, is refused', async () => {
  for (const [supplier, expected] of [
    ['S\u202e7', 'an identifier'],
    ['S\u200f7', 'an identifier'],
    ['\u212b7', 'composed letters'],
  ]) {
    const folder = temporaryFolder('identifier');
    fs.writeFileSync(path.join(folder, 's.yaml'), `kind: supplier\nformat: 1\nsupplier: "${supplier}"\ntitle: T\n`);
    const run = services.intake.run(folder, 'local:tester', { check: true });
    await expect(run).rejects.toMatchObject({
      problems: [{ code: 'field', line: 3, field: 'supplier', expected: expect.stringContaining(expected!) }],
    });
  }
});
