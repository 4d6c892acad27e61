import fs from 'node:fs';
import { csvRecords } from '../../src/base/csv-records.js';
import { MOST } from '../../src/base/limits.js';
import { readYamlText } from '../../src/base/yaml-text.js';

/** Test suites that others published, kept with their source and licence in `tests/reference`. */
const suite = <T>(name: string): readonly T[] =>
  JSON.parse(fs.readFileSync(`tests/reference/${name}.json`, 'utf8')).cases as T[];

interface YamlCase {
  readonly id: string;
  readonly yaml: string;
  /** No YAML. */
  readonly fail?: true;
  /** What it says, as JSON: one document, or several behind each other; absent where JSON cannot say it. */
  readonly json?: string;
}

/** Here every scalar is text: a number or a word of JSON is compared as what it stands for. */
function isSame(read: unknown, json: unknown): boolean {
  if (Array.isArray(json)) {
    return Array.isArray(read) && read.length === json.length && json.every((one, index) => isSame(read[index], one));
  }
  if (json === null) return read === null || ['', '~', 'null'].includes(String(read));
  if (typeof json === 'object') {
    const own = Object.entries(json);
    const found = read as Record<string, unknown>;
    return Object.keys(found).length === own.length && own.every(([key, value]) => isSame(found[key], value));
  }
  if (typeof json === 'number') return Number(read) === json;
  return String(read) === String(json);
}

const documentsIn = (json: string): unknown[] | undefined => {
  try {
    return [JSON.parse(json)];
  } catch {
    return undefined;
  }
};

describe('the YAML test suite', () => {
  const cases = suite<YamlCase>('yaml-test-suite');
  const outcomes = cases.map((one) => ({ ...one, ...readYamlText('x.yaml', Buffer.from(one.yaml)) }));
  const isRefused = ({ problems }: (typeof outcomes)[number]) => problems.length > 0;

  it('has each of its texts read or refused with a place, what is expected and what to do', () => {
    expect(cases).toHaveLength(402);
    for (const { id, read, problems } of outcomes) {
      expect([id, read !== undefined || problems.length > 0]).toEqual([id, true]);
      for (const { expected = '', remedy = '' } of problems)
        expect([id, expected === '', remedy === '']).toEqual([id, false, false]);
    }
  });

  it('has no text read that is none', () => {
    expect(outcomes.filter((one) => one.fail && !isRefused(one)).map(({ id }) => id)).toEqual([]);
  });

  it('has each text that is read say what the suite says', () => {
    const read = outcomes.filter((one) => !one.fail && !isRefused(one));
    const known = read.flatMap(({ id, json, read: own }) => {
      const [value] = (json === undefined ? undefined : documentsIn(json)) ?? [];
      return value === undefined ? [] : [{ id, isSame: isSame(own!.value, value) }];
    });
    expect(known.filter((one) => !one.isSame).map(({ id }) => id)).toEqual([]);
    const reasons: Record<string, number> = {};
    for (const { problems } of outcomes.filter((one) => !one.fail && isRefused(one))) {
      reasons[problems[0]!.code] = (reasons[problems[0]!.code] ?? 0) + 1;
    }
    // What is YAML and refused here: tags, several documents, what is no text as a name, references that lead on.
    const refused = { yaml: 24, 'several-documents': 19, 'field-name': 15, empty: 3, reference: 2, 'duplicate-key': 1 };
    expect([known.length, reasons]).toEqual([225, refused]);
  });
});

describe('csv-spectrum', () => {
  interface CsvCase {
    readonly name: string;
    readonly csv: string;
    readonly json: readonly Readonly<Record<string, string>>[];
  }

  const cases = suite<CsvCase>('csv-spectrum');
  /** A quote in the middle of a field without quotes: RFC 4180 has none. */
  const ODD = 'location_coordinates';

  it.each(cases.filter(({ name }) => name !== ODD))('is read to the last cell: $name', ({ csv, json }) => {
    const [head, ...rows] = [...csvRecords(csv, MOST.sheetLineCharacters)].map(({ fields }) => fields);
    // A line end inside quotes is one line end here, however it was written.
    const cell = (text = '') => text.replaceAll('\r\n', '\n');
    const expected = json.map((row) =>
      Object.fromEntries(Object.entries(row).map(([name, text]) => [name, cell(text)])),
    );
    expect(rows.map((row) => Object.fromEntries(head!.map((name, index) => [name, row[index]])))).toEqual(expected);
  });

  it('has one text that RFC 4180 does not know, which is refused at its place', () => {
    const { csv } = cases.find(({ name }) => name === ODD)!;
    expect(() => [...csvRecords(csv, MOST.sheetLineCharacters)]).toThrow(
      /^2:22: found a quote in .* each quote in it twice$/,
    );
  });
});
