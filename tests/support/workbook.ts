import { zipOf } from './zip.js';

/** A cell as a program for workbooks writes it. */
export type MadeCell =
  | string
  | number
  | { readonly day: number }
  | { readonly share: number; readonly coded?: true }
  | { readonly inline: string }
  | null;

const NAMESPACE = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
const RELATIONS = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
const escaped = (text: string): string => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');
const columnOf = (at: number): string => String.fromCharCode(65 + at);

/** A workbook (ISO/IEC 29500) of a few sheets: texts shared, days in a format of their own, shares as percentages, empty cells and rows left out. */
export function workbookOf(
  sheets: Readonly<Record<string, readonly (readonly MadeCell[])[]>>,
  { date1904 = false, chartSheet = false } = {},
): Promise<Buffer> {
  const words: string[] = [];
  const shared = (text: string) => (words.includes(text) ? words.indexOf(text) : words.push(text) - 1);
  const cellOf = (cell: MadeCell, at: string): string => {
    if (cell === null) return '';
    if (typeof cell === 'number') return `<c r="${at}"><v>${cell}</v></c>`;
    if (typeof cell === 'string') return `<c r="${at}" t="s"><v>${shared(cell)}</v></c>`;
    if ('day' in cell) return `<c r="${at}" s="1"><v>${cell.day}</v></c>`;
    if ('share' in cell) return `<c r="${at}" s="${cell.coded ? 3 : 2}"><v>${cell.share}</v></c>`;
    return `<c r="${at}" t="inlineStr"><is><t>${escaped(cell.inline)}</t></is></c>`;
  };
  const bodies = Object.values(sheets).map((rows) => {
    const lines = rows.map((row, index) => {
      const cells = row.map((cell, place) => cellOf(cell, `${columnOf(place)}${index + 1}`)).join('');
      return cells === '' ? '' : `<row r="${index + 1}">${cells}</row>`;
    });
    return `<worksheet xmlns="${NAMESPACE}"><sheetData>${lines.join('')}</sheetData></worksheet>`;
  });
  const names = Object.keys(sheets);
  const places = names.map((_, index) => `worksheets/sheet${index + 1}.xml`);
  if (chartSheet) {
    names.unshift('Chart');
    places.unshift('chartsheets/sheet1.xml');
  }
  const parts: [string, string][] = [
    [
      'xl/workbook.xml',
      `<workbook xmlns="${NAMESPACE}" xmlns:r="${RELATIONS}"><workbookPr date1904="${date1904}"/><sheets>${names
        .map((name, index) => `<sheet name="${name}" sheetId="${index + 1}" r:id="rId${index + 1}"/>`)
        .join('')}</sheets></workbook>`,
    ],
    [
      'xl/_rels/workbook.xml.rels',
      `<Relationships>${places
        .map((place, index) => `<Relationship Id="rId${index + 1}" Target="${place}"/>`)
        .join('')}</Relationships>`,
    ],
    [
      'xl/styles.xml',
      `<styleSheet xmlns="${NAMESPACE}"><numFmts><numFmt numFmtId="164" formatCode="dd&quot;.&quot;mm.yyyy hh:mm"/><numFmt numFmtId="165" formatCode="0.0\\ %"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="10"/><xf numFmtId="165"/></cellXfs></styleSheet>`,
    ],
    ...bodies.map((body, index): [string, string] => [`xl/worksheets/sheet${index + 1}.xml`, body]),
  ];
  if (chartSheet) parts.push(['xl/chartsheets/sheet1.xml', `<chartsheet xmlns="${NAMESPACE}"/>`]);
  const texts = words.map(
    (word) => `<si><r><t>${escaped(word.slice(0, 1))}</t></r><r><t>${escaped(word.slice(1))}</t></r></si>`,
  );
  parts.push(['xl/sharedStrings.xml', `<sst xmlns="${NAMESPACE}">${texts.join('')}</sst>`]);
  return zipOf(parts.map(([name, text]) => ({ name, bytes: Buffer.from(`<?xml version="1.0"?>${text}`) })));
}
