import { SaxesParser } from 'saxes';
import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { unpackedParts } from './packed-parts.js';

/** Cells of the sheets of a workbook (ISO/IEC 29500, SpreadsheetML), as text, by the name of the sheet and in its order. */
export type Workbook = ReadonlyMap<string, readonly (readonly string[])[]>;

/** How a workbook tells a moment: a day that is counted, which is turned into a time of the clock that the profile names. */
export interface CellForms {
  number(value: number): string;
  /** @param wallMs what the clock on the wall showed, as if it were UTC. */
  time(wallMs: number): string;
}

const SHEETS = 'xl/worksheets/';
const RELATIONS = 'xl/_rels/workbook.xml.rels';
const WANTED =
  /^xl\/(?:workbook\.xml|_rels\/workbook\.xml\.rels|sharedStrings\.xml|styles\.xml|worksheets\/[^/]+\.xml)$/;
/** Formats without a code of their own that show a day or a time. */
const BUILT_IN_TIMES: ReadonlySet<number> = new Set([14, 15, 16, 17, 18, 19, 20, 21, 22, 45, 46, 47]);
/** Those that show a fraction as a percentage. */
const BUILT_IN_PERCENTS: ReadonlySet<number> = new Set([9, 10]);
/** What is less than a day tells none: a cell with the time of the clock alone. */
const NO_DAY = 'a time without a day';
/** 1970-01-01 in the two counts of days that there are. */
const EPOCH_DAY = { since1900: 25_569, since1904: 24_107 } as const;
const DAY_MS = 86_400_000;
/** What programs for workbooks show of a number at most. */
const SHOWN_DIGITS = 15;

/** @throws BadInputError for what is no workbook, or unpacks to too much. */
export async function readWorkbook(file: string, bytes: Uint8Array, forms: CellForms): Promise<Workbook> {
  const parts = await unpackedParts(file, bytes, WANTED);
  const part = (name: string): string => {
    const found = parts.get(name);
    if (found === undefined) throw noWorkbook(file, `no ${name} in it`);
    return found;
  };
  const targets = new Map<string, string>();
  walk(file, part(RELATIONS), {
    open: (name, { Id, Target = '' }) => {
      if (name === 'Relationship' && Id !== undefined) targets.set(Id, Target.replace(/^\/?(?:xl\/)?/, 'xl/'));
    },
  });
  const sheets: { readonly name: string; readonly part: string }[] = [];
  let counts: keyof typeof EPOCH_DAY = 'since1900';
  walk(file, part('xl/workbook.xml'), {
    open: (name, { name: title, 'r:id': id, date1904 }) => {
      if (name === 'workbookPr' && /^(?:1|true)$/.test(date1904 ?? '')) counts = 'since1904';
      if (name === 'sheet') sheets.push({ name: title ?? '', part: targets.get(id ?? '') ?? '' });
    },
  });
  const words = sharedWords(file, parts.get('xl/sharedStrings.xml') ?? '<sst/>');
  const styles = specialStyles(file, parts.get('xl/styles.xml') ?? '<styleSheet/>');
  const number = (text: string, style: number): string => {
    const value = Number(text);
    const shows = styles.get(style);
    const shown = (one: number) => forms.number(Number(one.toPrecision(SHOWN_DIGITS)));
    // As it is shown, as in a text: it is no number, and nobody has to guess whether 5 % is 5 or 0.05.
    if (shows === 'percent') return `${shown(100 * value)}%`;
    if (shows === undefined) return shown(value);
    if (value < 1) return NO_DAY;
    return forms.time(Math.round((value - EPOCH_DAY[counts]) * DAY_MS));
  };
  // A sheet of another sort, such as one with a chart alone, has no cells.
  const ofCells = sheets.filter(({ part: at }) => at === '' || at.startsWith(SHEETS));
  return new Map(ofCells.map(({ name, part: at }) => [name, rowsOf(file, part(at), words, number)]));
}

/** Texts that cells name by their number; those of phonetic runs are no part of them. */
function sharedWords(file: string, xml: string): string[] {
  const words: string[] = [];
  let isPhonetic = false;
  walk(file, xml, {
    open: (name) => {
      if (name === 'si') words.push('');
      if (name === 'rPh') isPhonetic = true;
    },
    close: (name) => {
      if (name === 'rPh') isPhonetic = false;
    },
    text: (text, within) => {
      if (within === 't' && !isPhonetic) words[words.length - 1] += text;
    },
  });
  return words;
}

/** Places among the styles of cells of those that show a day or a time, or a fraction as a percentage. */
function specialStyles(file: string, xml: string): ReadonlyMap<number, 'time' | 'percent'> {
  const coded = new Map<number, string>();
  const found = new Map<number, 'time' | 'percent'>();
  let [place, isOfCells] = [0, false];
  walk(file, xml, {
    open: (name, { numFmtId = '0', formatCode = '' }) => {
      if (name === 'numFmt') coded.set(Number(numFmtId), formatCode);
      if (name === 'cellXfs') isOfCells = true;
      if (name !== 'xf' || !isOfCells) return;
      const id = Number(numFmtId);
      const code = (coded.get(id) ?? '').replaceAll(/"[^"]*"|\[[^\]]*\]|\\./g, '');
      if (BUILT_IN_TIMES.has(id) || /[ymdhs]/i.test(code)) found.set(place, 'time');
      else if (BUILT_IN_PERCENTS.has(id) || code.includes('%')) found.set(place, 'percent');
      place += 1;
    },
    close: (name) => {
      if (name === 'cellXfs') isOfCells = false;
    },
  });
  return found;
}

/** Rows and cells that were left out are empty ones. */
function rowsOf(
  file: string,
  xml: string,
  words: readonly string[],
  number: (text: string, style: number) => string,
): string[][] {
  const rows: string[][] = [];
  let cell = { at: 0, type: '', style: 0, text: '' };
  walk(file, xml, {
    open: (name, { r = '', t = 'n', s = '0' }) => {
      if (name === 'row') {
        const at = r === '' ? rows.length : Number(r) - 1;
        if (!(at >= rows.length && at < MOST.sheetRows)) throw noWorkbook(file, `a row ${r}`);
        while (rows.length <= at) rows.push([]);
      }
      if (name === 'c') {
        const row = rows.at(-1);
        const at = r === '' ? (row?.length ?? 0) : columnOf(r);
        if (row === undefined || !(at >= row.length && at < MOST.sheetColumns)) throw noWorkbook(file, `a cell ${r}`);
        cell = { at, type: t, style: Number(s), text: '' };
      }
    },
    text: (text, within) => {
      if (within === 'v' || within === 't') cell.text += text;
    },
    close: (name) => {
      if (name !== 'c') return;
      const row = rows.at(-1)!;
      while (row.length < cell.at) row.push('');
      row.push(shown(cell));
    },
  });
  return rows;

  function shown({ type, style, text }: typeof cell): string {
    if (text === '') return '';
    if (type === 's') return words[Number(text)] ?? '';
    return type === 'n' ? number(text, style) : text;
  }
}

/** `AB12` is the 28th column. */
const columnOf = (cell: string): number =>
  [...cell.replace(/\d+$/, '')].reduce((sum, letter) => sum * 26 + letter.charCodeAt(0) - 64, 0) - 1;

interface Told {
  open?(name: string, attributes: Readonly<Record<string, string | undefined>>): void;
  text?(text: string, within: string): void;
  close?(name: string): void;
}

/** Elements by their names, whatever prefix they have. */
function walk(file: string, xml: string, told: Told): void {
  const parser = new SaxesParser();
  const open: string[] = [];
  const plain = (name: string) => name.slice(name.indexOf(':') + 1);
  parser.on('opentag', ({ name, attributes }) => {
    open.push(plain(name));
    told.open?.(plain(name), attributes);
  });
  parser.on('text', (text) => told.text?.(text, open.at(-1) ?? ''));
  parser.on('closetag', ({ name }) => {
    open.pop();
    told.close?.(plain(name));
  });
  parser.on('error', (error) => {
    throw noWorkbook(file, `what is no XML: ${error.message}`);
  });
  parser.write(xml).close();
}

const noWorkbook = (file: string, found: string): BadInputError => {
  const expected = 'a workbook as XLSX (ISO/IEC 29500)';
  const remedy = 'save it again as XLSX, or as CSV with a profile for it';
  return new BadInputError([{ code: 'workbook', file, found, expected, remedy }]);
};
