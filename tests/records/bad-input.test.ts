import { execFileSync } from 'node:child_process';
import { renderTwice } from '../../src/pdf/render.js';
import { renderRecord } from '../../src/records/render-record.js';
import { type Cell, makeCell } from '../support/cell.js';
import { checkPdf } from '../support/pdf-check.js';
import { PdfObjects, withFile } from '../support/pdf-objects.js';
import { assessedLot, contentOf } from '../support/record-content.js';
import { HOSTILE, SAMPLE_IDENTITY } from '../support/record-sample.js';
import { withTools } from '../support/tools.js';
import { outsideMargins, overlaps, wordBoxes } from '../support/word-boxes.js';

// Whole records are rendered, assessed and verified here, some of them several times.
async function recordOf(spoil: (cell: Cell) => void): Promise<Buffer> {
  const cell = makeCell();
  spoil(cell);
  return Buffer.from((await renderRecord(contentOf(await assessedLot(cell)))).pdf);
}

const run = (bytes: Buffer, ...options: string[]) =>
  withFile(bytes, (file) =>
    execFileSync('pdftotext', [...options, file, '-'], { encoding: 'utf8', maxBuffer: 1 << 28 }),
  );

function isLaidOutWell(bytes: Buffer): void {
  const words = wordBoxes(run(bytes, '-bbox'));
  expect(outsideMargins(words)).toEqual([]);
  expect(overlaps(words)).toEqual([]);
  expect(checkPdf(PdfObjects.read(bytes))).toEqual([]);
}

const family = (cell: Cell) => cell.documents['site/family.yaml']!;
const lot = (cell: Cell) => cell.documents['lots/L-1/lot.yaml']!;
/** Control characters are refused at intake. */
const printable = HOSTILE.filter((text) => !/\p{Cc}/u.test(text));

withTools(['qpdf', 'pdftotext'], 'a record of odd facts is laid out as text', () => {
  it.each(printable)('when names are %j', async (text) => {
    const bytes = await recordOf((cell) => {
      family(cell).title = text;
      family(cell).lifetime.basis = text;
      for (const document of Object.values(cell.documents)) {
        if (document.kind === 'case') document.prescriber = { name: text, institution: text };
        if (document.kind === 'case') document.anatomicalSite = text;
        if (document.kind === 'person') document.name = text;
      }
    });
    isLaidOutWell(bytes);
  });

  it('when every name is as long as it may be', async () => {
    const long = 'Sehr lange Bezeichnung '.repeat(170).trim();
    const code = `L-${'X'.repeat(55)}`;
    const bytes = await recordOf((cell) => {
      family(cell).title = long;
      family(cell).alloy = long;
      lot(cell).coupons[0].rationale = long;
      const serial = lot(cell).implants[0].serial;
      lot(cell).implants[0].serial = code;
      lot(cell).coupons[0].standsFor = [code];
      for (const row of Object.values(cell.sheets).flat()) if (row.specimen === serial) row.specimen = code;
    });
    isLaidOutWell(bytes);
    expect(run(bytes).replace(/\s/g, '')).toContain(code);
    // Page 1 is one page, whatever stands on it.
    expect(run(bytes, '-l', '1')).toContain('How to check it');
  });

  it('when numbers are huge', async () => {
    const bytes = await recordOf((cell) => {
      const [first, second] = cell.sheets['lots/L-1/results/tensile.csv']!;
      first!.value = '123456789012345678901234567890.123456789';
      second!.value = '9.99e100';
    });
    isLaidOutWell(bytes);
    expect(run(bytes).replace(/\s/g, '')).toContain('123456789012345678901234567890.123456789');
  });

  it('when sections have nothing to say', async () => {
    const bytes = await recordOf((cell) => {
      for (const name of Object.keys(cell.sheets)) delete (cell.sheets as Record<string, unknown>)[name];
      delete lot(cell).builds[0].log;
      lot(cell).coupons = [];
      for (const name of Object.keys(cell.files)) if (name.startsWith('lots/')) delete cell.files[name];
    });
    isLaidOutWell(bytes);
    const text = run(bytes);
    expect(text).toContain('No value was recorded.');
    expect(text).toContain('No log was taken in.');
  });

  it('over a table of many rows, of which none is lost', async () => {
    const rows = process.env.LOTWRIGHT_TEST_LONG ? 10_000 : 2000;
    const bytes = await renderTwice(SAMPLE_IDENTITY, (page) => {
      page.table({
        caption: 'Many values',
        columns: [{ head: 'Specimen' }, { head: 'Value', unit: 'mm', align: 'decimal' }, { head: 'Why' }],
        rows: Array.from({ length: rows }, (_, index) => [
          `S-${index + 1}`,
          `${(index * 7919) % 100_003}.${index % 10}`,
          index % 997 === 0
            ? 'a reason that is long enough to need a second line in its narrow column '.repeat(2)
            : 'ok',
        ]),
      });
    });
    const words = wordBoxes(run(bytes, '-bbox'));
    const serials = words.filter(({ word }) => /^S-\d+$/.test(word));
    expect(new Set(serials.map(({ word }) => word)).size).toBe(rows);
    expect(outsideMargins(words)).toEqual([]);
    expect(overlaps(words)).toEqual([]);
  });
});
