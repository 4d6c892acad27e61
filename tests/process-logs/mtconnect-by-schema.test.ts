import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import { SaxesParser, type SaxesTagNS } from 'saxes';
import type { ChannelMap } from '../../src/kinds/channel-map.js';
import { STREAM_VERSIONS } from '../../src/kinds/stream-versions.js';
import { scanBuild } from '../../src/process-logs/build-scan.js';
import { DocumentParser } from '../../src/process-logs/mtconnect/document-parser.js';
import type { Observation } from '../../src/process-logs/mtconnect/observation.js';

/**
 * For each version one document with every observation that its schema knows, valid by that schema
 * (tests/reference/mtconnect/write-documents.py, from the schemas of the MTConnect Institute): all of it is read.
 */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-by-schema-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const documentOf = (version: string) =>
  gunzipSync(fs.readFileSync(`tests/reference/mtconnect/by-schema/${version}.xml.gz`));

interface Written {
  readonly element: string;
  readonly dataItem: string;
  readonly sequence: number;
  readonly timestamp: string;
  text: string;
  readonly entries: string[];
}

/** What stands in a document, by an ordinary XML reader: what is a child of Samples, Events or Condition, and the keys in it. */
function written(bytes: Buffer): Written[] {
  const found: Written[] = [];
  const open: SaxesTagNS[] = [];
  const parser = new SaxesParser({ xmlns: true });
  parser.on('opentag', (tag) => {
    const said = (name: string) => tag.attributes[name]?.value ?? '';
    if (/^(?:Samples|Events|Condition)$/.test(open.at(-1)?.local ?? '') && open.length === 5) {
      const [dataItem, timestamp] = [said('dataItemId'), said('timestamp')];
      const sequence = Number(said('sequence'));
      found.push({ element: tag.local, dataItem, sequence, timestamp, text: '', entries: [] });
    } else if (open.length === 6) found.at(-1)!.entries.push(said('key'));
    open.push(tag);
  });
  parser.on('closetag', () => open.pop());
  parser.on('text', (text) => {
    if (open.length === 6) found.at(-1)!.text += text;
  });
  parser.write(bytes.toString('utf8')).close();
  return found;
}

/** Of each file of the schemas, its text. */
const SCHEMAS = JSON.parse(
  brotliDecompressSync(fs.readFileSync('tests/reference/mtconnect/streams-schemas.json.br')).toString('utf8'),
) as Readonly<Record<string, string>>;

/** Elements that a schema lets stand where an observation may, straight or by way of others, and that are not abstract. */
function observationsIn(schema: string): string[] {
  const tags = (element: string) =>
    [...schema.matchAll(new RegExp(`<xs:${element}\\s([^>]*)>`, 'g'))].map(
      ([, text]) => new Map([...text!.matchAll(/(\w+)=["']([^"']*)["']/g)].map(([, name, value]) => [name, value!])),
    );
  const isAbstract = (one: ReadonlyMap<string | undefined, string>) => one.get('abstract') === 'true';
  const abstractTypes = new Set(
    tags('complexType')
      .filter(isAbstract)
      .map((one) => one.get('name')),
  );
  const elements = tags('element').filter((one) => one.has('name') && one.has('type'));
  const heads = new Map(elements.map((one) => [one.get('name')!, one.get('substitutionGroup')]));
  const isObservation = (name: string | undefined): boolean =>
    name !== undefined && (/^(?:Sample|Event|Condition)$/.test(name) || isObservation(heads.get(name)));
  return elements
    .filter(
      (one) => !isAbstract(one) && !abstractTypes.has(one.get('type')) && isObservation(one.get('substitutionGroup')),
    )
    .map((one) => one.get('name')!);
}

it.each(STREAM_VERSIONS)('has in its document of version %s every observation that the schema knows', (version) => {
  const known = observationsIn(SCHEMAS[`MTConnectStreams_${version}.xsd`]!);
  expect(known.length).toBeGreaterThan(50);
  expect([...new Set(written(documentOf(version)).map(({ element }) => element))].sort()).toEqual(
    [...new Set(known)].sort(),
  );
});

it.each(STREAM_VERSIONS)('reads every observation that the schema of version %s knows', (version) => {
  const bytes = documentOf(version);
  const read: Observation[] = [];
  const sink = {
    header: () => undefined,
    wants: () => 'all' as const,
    observation: (one: Observation) => read.push({ ...one }),
  };
  const parser = new DocumentParser('a.xml', 1, sink);
  parser.write(bytes);
  parser.close();
  const expected = written(bytes);
  expect(expected.length).toBeGreaterThan(50);
  const told = read.map(({ dataItem, sequence, timeUs, value, entries }) => ({
    ...{ dataItem, sequence, timestamp: new Date(timeUs / 1000).toISOString() },
    ...{ text: value, entries: [...(entries?.keys() ?? [])] },
  }));
  expect(told).toEqual(
    expected.map(({ element: _, timestamp, text, ...one }) => ({
      ...{ ...one, timestamp: new Date(timestamp).toISOString(), text: text.trim() },
    })),
  );
  const conditions = expected.filter(({ element }) => /^(?:Normal|Warning|Fault|Unavailable)$/.test(element));
  expect(read.filter(({ condition }) => condition !== null)).toHaveLength(conditions.length);
});

it.each(STREAM_VERSIONS)(
  'scans it, with a channel of two of its samples, whatever else version %s tells',
  async (version) => {
    const file = path.join(folder, `${version}.xml`);
    fs.writeFileSync(file, documentOf(version));
    const of = (element: string) => written(documentOf(version)).find((one) => one.element === element)!;
    const [load, temperature] = [of('Load'), of('Temperature')];
    const names = ['load', 'temperature'];
    const channels = names.map((name) => ({ name, ucum: '1', loggedUcum: null, unitFrom: [], dewPoint: null }));
    const map: ChannelMap = {
      ...{ kind: 'channel-map', format: 1, map: 'CM-1', revision: 1, title: 'invented cell', machine: 'M1' },
      ...{ source: 'MTConnect streams', place: {}, everySequence: 'yes' },
      channels: [load, temperature].map(({ dataItem }, at) => ({ dataItem, channel: names[at]!, ucum: '1' })),
    };
    const plan = {
      ...{ build: 'M1-7', channels, windows: [], setValues: [], inert: { channels: [], joinMs: 0 }, closure: null },
      ...{ expected: [], nominalPeriodMs: 1000, gapLimitMs: 3000, clockOffsetMs: 0 },
    };
    const source = { path: file, fileName: 'a.xml', channels, clockOffsetMs: 0, gapLimitMs: 3000, map };
    const report = await scanBuild({ plan, sources: [source] });
    expect(report.rejections).toEqual([]);
    expect(report.part.findings.filter(({ rule }) => rule === 'observations lost')).toEqual([]);
    expect(report.summaries.map(({ channel, min, max }) => [channel, min, max])).toEqual(
      [load, temperature].map(({ text }, at) => [names[at], text, text]),
    );
  },
);
