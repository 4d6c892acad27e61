import { Flow, NOTHING_KNOWN } from '../../src/pdf/flow.js';
import { widthOf } from '../../src/pdf/shaping.js';
import { PAGE } from '../../src/pdf/sheet.js';
import { drawTable, type TableSpec } from '../../src/pdf/table.js';
import { SAMPLE_IDENTITY } from '../support/record-sample.js';
import { RecordingSheet } from '../support/recording-sheet.js';

function draw(spec: TableSpec) {
  const sheet = new RecordingSheet();
  const flow = new Flow(sheet, SAMPLE_IDENTITY, NOTHING_KNOWN);
  drawTable(flow, spec);
  const find = (text: string) => sheet.texts.filter((one) => one.text === text);
  return { sheet, flow, find };
}

describe('a table', () => {
  it('puts decimal points under each other, whatever the digits and signs', () => {
    const cells = ['3.5', '-12.345', '<0.30', '1000', '7.'.slice(0, 1), '1.5e-3'];
    const columns = [{ head: 'n' }, { head: 'Value', unit: 'mm', align: 'decimal' as const }];
    const { find } = draw({ caption: 'C', columns, rows: cells.map((cell, index) => [`row ${index}`, cell]) });
    const points = cells.map((cell) => {
      const { x } = find(cell)[0]!;
      return x + widthOf(cell.split('.')[0]!, 'regular', 8);
    });
    for (const point of points) expect(point).toBeCloseTo(points[0]!, 6);
  });

  it('sets words in a column of numbers at its left', () => {
    const columns = [{ head: 'n' }, { head: 'Value', align: 'decimal' as const }];
    const { find } = draw({
      caption: 'C',
      columns,
      rows: [
        ['a', '1.25'],
        ['b', 'not measured'],
      ],
    });
    expect(find('not measured')[0]!.x).toBeLessThan(find('1.25')[0]!.x);
  });

  it('repeats its head on every page as an artifact and has it once in the structure', () => {
    const rows = Array.from({ length: 150 }, (_, index) => [`row ${index}`, 'value']);
    const { flow, find, sheet } = draw({ caption: 'Long', columns: [{ head: 'Key' }, { head: 'Word' }], rows });
    expect(flow.page).toBeGreaterThan(2);
    const heads = find('Word');
    expect(heads.map((head) => head.page)).toEqual(Array.from({ length: flow.page }, (_, index) => index + 1));
    expect(heads.filter((head) => head.within === 'structure')).toHaveLength(1);
    expect(sheet.tags.filter((tag) => tag === 'TH')).toHaveLength(2 + 150);
    expect(sheet.tags.filter((tag) => tag === 'TD')).toHaveLength(150);
  });

  it('draws ten thousand rows, each once and above the lower margin', () => {
    const rows = Array.from({ length: 10_000 }, (_, index) => [`row ${index}`, String(index % 97)]);
    const { sheet } = draw({ caption: 'Rows', columns: [{ head: 'Key' }, { head: 'Value', align: 'right' }], rows });
    const keys = sheet.texts.filter((text) => text.text.startsWith('row '));
    expect(new Set(keys.map((key) => key.text)).size).toBe(10_000);
    expect(keys).toHaveLength(10_000);
    for (const key of keys) expect(key.y).toBeLessThan(PAGE.bottom);
  });

  it('keeps a row on one page', () => {
    const text = 'words that fill a line and more '.repeat(20);
    const rows = Array.from({ length: 30 }, (_, index) => [`key ${index}`, text]);
    const columns = [
      { head: 'Key', width: 1 },
      { head: 'Text', width: 2 },
    ];
    const { sheet } = draw({ caption: 'Rows', columns, rows });
    let page = 0;
    const pagesOfRow = new Map<string, Set<number>>();
    let key = '';
    for (const one of sheet.texts.filter((one) => one.within === 'structure')) {
      if (one.text.startsWith('key ')) key = one.text;
      if (key !== '') pagesOfRow.set(key, (pagesOfRow.get(key) ?? new Set()).add(one.page));
      page = one.page;
    }
    expect(page).toBeGreaterThan(2);
    for (const pages of pagesOfRow.values()) expect(pages.size).toBe(1);
  });

  it('leaves no last row alone on a page, however many rows there are', () => {
    for (let rows = 48; rows < 56; rows++) {
      const { sheet } = draw({
        caption: 'Rows',
        columns: [{ head: 'Key' }, { head: 'Text' }],
        rows: Array.from({ length: rows }, (_, index) => [`key ${index}`, 'text']),
      });
      const keys = sheet.texts.filter(({ text, within }) => within === 'structure' && text.startsWith('key '));
      const last = keys.at(-1)!.page;
      expect(keys.filter(({ page }) => page === last).length).toBeGreaterThan(1);
    }
  });

  it('says in words that it has no rows', () => {
    const { find, sheet } = draw({ caption: 'Concessions', columns: [{ head: 'A' }], rows: [], empty: 'None.' });
    expect(find('Concessions')).toHaveLength(1);
    expect(find(': None.')).toHaveLength(1);
    expect(sheet.tags).not.toContain('Table');
  });

  it('lets no cell reach into the next, also when words are longer than the columns', () => {
    const long = 'abcdefghij'.repeat(12);
    const columns = Array.from({ length: 8 }, (_, index) => ({ head: `Column${index}` }));
    const { sheet } = draw({ caption: 'Wide', columns, rows: [columns.map(() => long)] });
    const parts = sheet.texts.filter((text) => /^[a-j]+$/.test(text.text));
    expect(parts.map((part) => part.text).join('')).toHaveLength(8 * long.length);
    for (const part of parts) expect(part.x + part.width).toBeLessThanOrEqual(PAGE.right);
    const starts = [...new Set(parts.map((part) => part.x))].sort((a, b) => a - b);
    expect(starts).toHaveLength(8);
    for (const part of parts) {
      const next = starts[starts.indexOf(part.x) + 1] ?? PAGE.right;
      expect(part.x + part.width).toBeLessThan(next);
    }
  });

  it('refuses heads that would fill the page', () => {
    expect(() => draw({ caption: 'T', columns: [{ head: 'word '.repeat(2000) }], rows: [['a']] })).toThrow('too long');
  });
});
