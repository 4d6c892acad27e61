import fs from 'node:fs';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import { stringify } from 'yaml';
import { BadInputError } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import { IncomingFolder } from '../../src/intake/incoming-folder.js';
import { readFolder } from '../../src/intake/read-folder.js';
import { readResultSheet } from '../../src/intake/results-file.js';
import { unpack } from '../../src/intake/unpack.js';
import { readYaml } from '../../src/intake/yaml-document.js';
import type { ChannelMap } from '../../src/kinds/channel-map.js';
import { scanBuild } from '../../src/process-logs/build-scan.js';
import { scanFile } from '../../src/process-logs/scan-stream.js';
import { LogScanner } from '../../src/process-logs/scanner.js';
import { MultipartReader } from '../../src/web/multipart.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { type LogShape, logText, planFor } from '../support/log-maker.js';
import { event, sample, streamsDocument } from '../support/mtconnect-maker.js';
import { Mutations } from '../support/mutations.js';
import { zipOf } from '../support/zip.js';

/**
 * Inputs of every sort, each spoilt by a few changes: none may end in anything but what is read of it, or problems that say
 * what to do. A hundred in all in the daily run, a hundred thousand in the long one, which prints its figures.
 * LOTWRIGHT_SPOIL_SEED begins elsewhere; a failure names the seed of its one input.
 */

const LONG = Boolean(process.env.LOTWRIGHT_TEST_LONG);
const SEED = Number(process.env.LOTWRIGHT_SPOIL_SEED ?? 1);

interface Sort {
  readonly name: string;
  /** How many of it in the long run. */
  readonly count: number;
  readonly words: readonly string[];
  readonly originals: readonly Buffer[];
  /** @returns what is wrong with it; nothing where it is read. @throws BadInputError too. */
  readonly read: (bytes: Buffer, mutations: Mutations) => Promise<readonly object[]> | readonly object[];
}

const folder = temporaryFolder('spoilt');
const written = (name: string, bytes: Buffer): string => {
  const file = path.join(folder, name);
  fs.writeFileSync(file, bytes);
  return file;
};

const cell = makeCell();
const SHAPE: LogShape = { seed: 5, rows: 30 };
const plan = planFor(SHAPE);
const log = Buffer.from(logText(SHAPE));

const YAML_WORDS = [
  '&a ',
  '*a',
  '- ',
  '? ',
  ': ',
  '[',
  '{',
  '}',
  ']',
  '|\n',
  '!!x ',
  '---\n',
  '\n',
  '\t',
  '"',
  "'",
  '#',
  '\ufeff',
  '%YAML 1.1\n',
  '<<: ',
];
const CSV_WORDS = [
  ',',
  '"',
  '\n',
  '\r\n',
  ';',
  '\u0000',
  '1e999',
  'NaN',
  '\u202e',
  '=1+1',
  '-',
  '\ufeff',
  '2031-02-30T00:00:00Z',
];
const XML_WORDS = [
  '<',
  '>',
  '</',
  '/>',
  '<!--',
  '-->',
  '<![CDATA[',
  ']]>',
  '<!DOCTYPE x [<!ENTITY a "b">]>',
  '&a;',
  '&#0;',
  '<?x ',
  '?>',
  '<MTConnectStreams>',
  '</MTConnectStreams>',
];

const at = (second: number): string => new Date(Date.UTC(2031, 2, 3, 7, 0, second)).toISOString();
const MAP: ChannelMap = {
  kind: 'channel-map',
  format: 1,
  map: 'CM-1',
  revision: 1,
  title: 'invented cell',
  machine: 'M1',
  source: 'MTConnect streams',
  channels: [{ dataItem: 'o2', channel: 'oxygen', ucum: '[ppm]' }],
  place: { layer: 'ln', zone: 'zn', step: 'st' },
  everySequence: 'yes',
};
const streamPlan = planFor({ seed: 1, rows: 0, channels: 1 });
const stream = Buffer.from(
  streamsDocument({
    observations: [
      event('LayerNumber', 'ln', at(0), 1, '4'),
      event('ZoneName', 'zn', at(0), 2, 'P1'),
      event('Execution', 'st', at(0), 3, 'deposit'),
      ...Array.from({ length: 8 }, (_, second) => sample('o2', at(second), 4 + second, '8')),
    ],
  }),
);

const BOUNDARY = 'some-boundary';
const body = Buffer.from(
  [
    `--${BOUNDARY}\r\nContent-Disposition: form-data; name="check"\r\n\r\nyes\r\n`,
    `--${BOUNDARY}\r\nContent-Disposition: form-data; name="files"; filename="a/b.yaml"\r\nContent-Type: text/plain\r\n\r\n`,
    'kind: supplier\r\n',
    `--${BOUNDARY}--\r\n`,
  ].join('\r\n'),
);

async function* inPieces(bytes: Buffer, length: number): AsyncGenerator<Buffer, undefined> {
  for (let from = 0; from < bytes.length; from += length) yield bytes.subarray(from, from + length);
  return undefined;
}

/** Whatever was read, what it counts adds up. */
function scanned(bytes: Buffer): object[] {
  const scanner = new LogScanner(plan, 'log.csv');
  const cut = bytes.length >> 1;
  scanner.push(bytes.subarray(0, cut));
  scanner.push(bytes.subarray(cut));
  const { lines, rows, rejectedRows, blankLines } = scanner.end();
  expect([1, 2]).toContain(lines - rows - rejectedRows - blankLines);
  return [];
}

async function unpacked(bytes: Buffer): Promise<object[]> {
  const target = fs.mkdtempSync(path.join(folder, 'zip-'));
  try {
    await unpack(written('folder.zip', bytes), new IncomingFolder(target), MOST);
  } finally {
    fs.rmSync(target, { recursive: true });
  }
  return [];
}

async function received(bytes: Buffer, mutations: Mutations): Promise<object[]> {
  const reader = new MultipartReader(inPieces(bytes, 1 + mutations.below(50)), BOUNDARY);
  for (let part = await reader.next(); part !== undefined; part = await reader.next()) {
    for await (const block of part.bytes) expect(block.length).toBeGreaterThan(0);
  }
  return [];
}

/** A folder in which files were renamed, removed, doubled, spoilt, or became links and folders. */
async function folderRead(_: Buffer, mutations: Mutations): Promise<object[]> {
  const root = writeCell(makeCell());
  try {
    const names = fs.readdirSync(root, { recursive: true, encoding: 'utf8' });
    for (let left = 1 + mutations.below(4); left > 0; left -= 1) {
      const file = path.join(root, mutations.one(names));
      if (!fs.existsSync(file)) continue;
      const isFolder = fs.statSync(file).isDirectory();
      const how = mutations.below(6);
      if (how === 0) fs.rmSync(file, { recursive: true });
      else if (how === 1)
        fs.renameSync(file, `${file}${mutations.one(['.yaml', ' ', '\n', '\u202e', '.zip', 'e\u0301'])}`);
      else if (how === 2) fs.symlinkSync(root, `${file}-link${left}`);
      else if (how === 3) fs.cpSync(file, `${file}-copy${left}.yaml`, { recursive: true });
      else if (!isFolder) fs.writeFileSync(file, mutations.spoil(fs.readFileSync(file)));
    }
    await readFolder(root);
  } finally {
    fs.rmSync(root, { recursive: true });
  }
  return [];
}

const SORTS: (() => Promise<Sort>)[] = [
  async () => ({
    name: 'YAML documents',
    count: 20_000,
    words: YAML_WORDS,
    originals: Object.values(cell.documents).map((document) => Buffer.from(stringify(document))),
    read: (bytes) => readYaml('x.yaml', bytes).problems,
  }),
  async () => ({
    name: 'result sheets',
    count: 35_000,
    words: CSV_WORDS,
    originals: Object.values(cell.sheets).map((rows) => {
      const names = Object.keys(rows[0]!);
      return Buffer.from(
        [names, ...rows.map((row) => names.map((name) => row[name] ?? ''))]
          .map((line) => `${line.join(',')}\n`)
          .join(''),
      );
    }),
    read: (bytes) => readResultSheet('x.csv', bytes).problems,
  }),
  async () => ({ name: 'logs', count: 20_000, words: CSV_WORDS, originals: [log], read: scanned }),
  async () => ({
    name: 'packed logs',
    count: 3000,
    words: ['\u001f\u008b', '\u0000'],
    originals: [gzipSync(log)],
    read: async (bytes) => {
      await scanFile({ path: written('log.csv.gz', bytes), fileName: 'log.csv.gz', plan });
      return [];
    },
  }),
  async () => ({
    name: 'streams of machines',
    count: 8000,
    words: XML_WORDS,
    originals: [stream, Buffer.concat([stream, stream])],
    read: async (bytes) => {
      const source = { path: written('s.xml', bytes), fileName: 's.xml', channels: streamPlan.channels };
      await scanBuild({ plan: streamPlan, sources: [{ ...source, clockOffsetMs: 0, gapLimitMs: 3000, map: MAP }] });
      return [];
    },
  }),
  async () => ({
    name: 'ZIPs',
    count: 4000,
    words: ['PK\u0003\u0004', 'PK\u0001\u0002', 'PK\u0005\u0006', '../', '\u0000'],
    originals: [
      await zipOf([
        { name: 'site/a.yaml', bytes: Buffer.from('kind: supplier\n') },
        { name: 'b.csv', bytes: Buffer.alloc(900, 'x,1\n') },
      ]),
    ],
    read: unpacked,
  }),
  async () => ({
    name: 'bodies of uploads',
    count: 9400,
    words: ['\r\n', `--${BOUNDARY}`, '--', '"', 'filename="', '\u0000'],
    originals: [body],
    read: received,
  }),
  async () => ({ name: 'folders', count: 600, words: YAML_WORDS, originals: [Buffer.alloc(0)], read: folderRead }),
];

it.each(SORTS)('%#: whatever was changed in it, an input is read or refused in words', async (make) => {
  const { name, count, words, originals, read } = await make();
  const tried = LONG ? count : Math.ceil(count / 1000);
  let refused = 0;
  const began = performance.now();
  for (let index = 0; index < tried; index += 1) {
    const seed = SEED * 1_000_003 + index;
    const mutations = new Mutations(seed, words);
    const bytes = mutations.spoil(mutations.one(originals));
    try {
      const problems = await read(bytes, mutations);
      refused += problems.length > 0 ? 1 : 0;
      expect(problems.every(isTold)).toBe(true);
    } catch (error) {
      const isRefusal = error instanceof BadInputError && error.problems.length > 0 && error.problems.every(isTold);
      if (!isRefusal) throw new Error(`${name}, seed ${seed}: ${(error as Error).message}`, { cause: error });
      refused += 1;
    }
  }
  expect(refused).toBeGreaterThan(0);
  if (LONG) {
    const seconds = Math.round((performance.now() - began) / 1000);
    console.log(
      `${name}: ${tried} spoilt from seed ${SEED}, ${refused} refused, ${tried - refused} read, ${seconds} s`,
    );
  }
});

const isTold = (problem: { expected?: string; remedy?: string; line?: number }): boolean =>
  (problem.expected ?? '') !== '' && (problem.remedy ?? '').length > 2 && (problem.line ?? 1) >= 1;
