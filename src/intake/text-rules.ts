import path from 'node:path';
import { codeOf } from '../base/characters.js';
import type { Problem } from '../base/errors.js';
import type { BuildReport } from '../process-logs/build-report.js';
import { joined } from './folder.js';
import { documentsOf, type ReadFolder } from './read-folder.js';
import { fieldText, type ReadDocument } from './yaml-document.js';

/** Letters of which the fonts are known to have all: nearly every text is of these, and no font is read for it. */
const KNOWN_TO_HAVE = /^[\n\t\x20-\x7e\u00a0-\u00ac\u00ae-\u017f\u0391-\u03a1\u03a3-\u03c9\u0410-\u044f]*$/;
/** Named of one text at most. */
const MOST_NAMED = 5;

type Missing = (text: string) => readonly string[];

/** Where a text stands. The line of a document is asked for only when something is wrong. */
type Place = Pick<Problem, 'file' | 'field'> & { readonly line?: number | (() => number) };

/**
 * Texts with characters that no font of the record has, each with its place: a record could only show their codes. Also
 * the names of files, which the record lists.
 */
export async function textProblems({ site, lots }: Pick<ReadFolder, 'site' | 'lots'>): Promise<Problem[]> {
  const texts: [text: string, place: Place][] = [];
  for (const document of documentsOf({ site, lots })) {
    const { file } = document;
    texts.push([path.posix.basename(file), { file, field: 'name of the file' }]);
    texts.push(...textsOf(document));
  }
  for (const { folder, sheets } of lots) {
    for (const sheet of sheets) {
      const file = joined(folder, sheet.file);
      texts.push([path.posix.basename(file), { file, field: 'name of the file' }]);
      for (const { line, ...row } of sheet.rows) {
        for (const [field, text] of Object.entries(row)) texts.push([String(text), { file, line, field }]);
      }
    }
  }
  const odd = texts.filter(([text]) => !KNOWN_TO_HAVE.test(text));
  if (odd.length === 0) return [];
  const missing = await missingIn();
  return odd.flatMap(([text, place]) => problemOf(text, place, missing));
}

/** The same for what a log calls its zones and steps. */
export async function logTextProblems({ summaries }: BuildReport, file: string): Promise<Problem[]> {
  const names = new Set(summaries.flatMap(({ zone, step }) => [zone, step]));
  const odd = [...names].filter((name) => !KNOWN_TO_HAVE.test(name));
  if (odd.length === 0) return [];
  const missing = await missingIn();
  return odd.flatMap((name) => problemOf(name, { file, field: 'zone or step' }, missing));
}

/** Loaded when it is needed: reading fonts takes longer than reading a folder. */
async function missingIn(): Promise<Missing> {
  const { missingCharacters } = await import('../pdf/shaping.js');
  return (text) => missingCharacters(text);
}

function* textsOf({ file, body, lineOf }: ReadDocument): Generator<[string, Place]> {
  const open: { value: unknown; at: PropertyKey[] }[] = [{ value: body, at: [] }];
  for (let next = open.pop(); next !== undefined; next = open.pop()) {
    const { value, at } = next;
    if (typeof value === 'string') {
      if (KNOWN_TO_HAVE.test(value)) continue;
      const field = fieldText(at);
      yield [value, { file, line: () => lineOf(field), field }];
    } else if (Array.isArray(value)) {
      for (const [index, item] of value.entries()) open.push({ value: item, at: [...at, index] });
    } else if (typeof value === 'object' && value !== null) {
      for (const [name, item] of Object.entries(value)) open.push({ value: item, at: [...at, name] });
    }
  }
}

function problemOf(text: string, { line, ...place }: Place, missing: Missing): Problem[] {
  const found = missing(text);
  if (found.length === 0) return [];
  const written = Array.from(text.normalize('NFC'));
  const named = found.slice(0, MOST_NAMED).map((character) => {
    return `"${character}" (${codeOf(character)}, character ${written.indexOf(character) + 1})`;
  });
  const more = found.length > MOST_NAMED ? ` and ${found.length - MOST_NAMED} more` : '';
  return [
    {
      code: 'character',
      ...place,
      ...(line === undefined ? {} : { line: typeof line === 'function' ? line() : line }),
      found: `${named.join(', ')}${more}`,
      expected: 'characters that the fonts of the record have',
      remedy: 'write it in letters, digits and signs of Latin, Greek, Cyrillic, Chinese, Japanese or Korean',
    },
  ];
}
