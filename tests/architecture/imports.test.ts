import fs from 'node:fs';
import path from 'node:path';

const SRC = path.resolve('src');

interface Import {
  readonly from: string;
  /** Path below src for our own files, else the package's name. */
  readonly to: string;
  readonly typeOnly: boolean;
}

function sources(folder: string): string[] {
  return fs
    .readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && entry.name.endsWith('.ts') && !entry.name.endsWith('.d.ts'))
    .map((entry) => path.join(entry.parentPath, entry.name))
    .filter((file) => !file.includes(`${path.sep}generated${path.sep}`));
}

const IMPORT = /^(?:import|export)\s+(type\s)?[^'"]*?from\s+'([^']+)'|^import\s+'([^']+)'|import\('([^']+)'\)/gm;

const IMPORTS: Import[] = sources(SRC).flatMap((file) => {
  const text = fs.readFileSync(file, 'utf8');
  const from = path.relative(SRC, file).split(path.sep).join('/');
  return [...text.matchAll(IMPORT)].map((match) => {
    const target = (match[2] ?? match[3] ?? match[4])!;
    const to = target.startsWith('.')
      ? path
          .relative(SRC, path.resolve(path.dirname(file), target))
          .split(path.sep)
          .join('/')
          .replace(/\.js$/, '.ts')
      : target;
    return { from, to, typeOnly: match[1] !== undefined };
  });
});

const room = (file: string): string => (file.includes('/') ? file.slice(0, file.indexOf('/')) : file);
const among = (rooms: readonly string[]) => (item: Import) => rooms.includes(room(item.from));
const say = (items: readonly Import[]) => items.map(({ from, to }) => `${from} imports ${to}`);

/** Rooms that compute and nothing else (docs/decisions/rooms.md). The worker that runs the log scanner is the one exception there. */
const PURE = ['statistics', 'degradation', 'kinds', 'dossier', 'ledger', 'assessment', 'report', 'charts'];
const SCANNER_IO = [
  'process-logs/scan-file.ts',
  'process-logs/scan-stream.ts',
  'process-logs/text-source.ts',
  'process-logs/worker.ts',
  'process-logs/archive/archive-writer.ts',
  'process-logs/archive/archive-reader.ts',
];
const OUTSIDE = /^(@nestjs|@prisma|better-sqlite3|node:(?!crypto)|express|pino|piscina|eta|helmet|commander)/;

it('reads the imports of every file', () => {
  expect(IMPORTS.length).toBeGreaterThan(400);
});

it('keeps pure rooms free of frameworks, database, files and clock', () => {
  const scanner = IMPORTS.filter((item) => room(item.from) === 'process-logs' && !SCANNER_IO.includes(item.from));
  const wrong = [...IMPORTS.filter(among(PURE)), ...scanner].filter(
    ({ to }) => OUTSIDE.test(to) || to === 'clock.ts' || to === 'settings.ts' || to.startsWith('store/'),
  );
  expect(say(wrong)).toEqual([]);
});

it('lets only the store reach the database', () => {
  const wrong = IMPORTS.filter(
    ({ from, to }) =>
      room(from) !== 'store' && (/^(@prisma|better-sqlite3)/.test(to) || to.startsWith('store/generated')),
  );
  expect(say(wrong)).toEqual([]);
});

it('keeps custody away from pages, and its rule of retention pure', () => {
  const wrong = IMPORTS.filter(
    ({ from, to }) =>
      (room(from) === 'custody' && /^(@nestjs|express|eta|helmet)/.test(to)) ||
      (from === 'custody/retention.ts' && !to.startsWith('kinds/')),
  );
  expect(say(wrong)).toEqual([]);
});

it('lets only record and charts draw', () => {
  const wrong = IMPORTS.filter(
    ({ from, to }) => /^(pdfkit|fontkit|d3-)/.test(to) && !['record', 'charts'].includes(room(from)),
  );
  expect(say(wrong)).toEqual([]);
});

it('keeps assessment, record and verify away from the store: they see the dossier and the enclosure', () => {
  const wrong = IMPORTS.filter(
    ({ from, to }) => ['assessment', 'record', 'verify'].includes(room(from)) && to.startsWith('store/'),
  );
  expect(say(wrong)).toEqual([]);
});

it('puts words above facts: no pure room takes any from report, which sees no room above the assessment', () => {
  const wrong = IMPORTS.filter(
    ({ from, to }) =>
      (to.startsWith('report/') && PURE.includes(room(from)) && room(from) !== 'report') ||
      (room(from) === 'report' && !/^(report|dossier|kinds|assessment|statistics)\/|^units\.ts$/.test(to)),
  );
  expect(say(wrong)).toEqual([]);
});

it('lets nothing import pages or commands but their own starting points', () => {
  const doors = ['cli.ts', 'main.ts', 'app.module.ts'];
  const wrong = IMPORTS.filter(
    ({ from, to }) =>
      (to.startsWith('web/') || to.startsWith('cli/')) && room(from) !== room(to) && !doors.includes(from),
  );
  expect(say(wrong)).toEqual([]);
});

it('has no cycles between files', () => {
  const next = new Map<string, string[]>();
  for (const { from, to, typeOnly } of IMPORTS) {
    if (!typeOnly && to.endsWith('.ts')) next.set(from, [...(next.get(from) ?? []), to]);
  }
  const done = new Set<string>();
  const cycles: string[] = [];
  const visit = (file: string, trail: readonly string[]): void => {
    if (trail.includes(file)) {
      cycles.push([...trail.slice(trail.indexOf(file)), file].join(' → '));
      return;
    }
    if (done.has(file)) return;
    for (const target of next.get(file) ?? []) visit(target, [...trail, file]);
    done.add(file);
  };
  for (const file of next.keys()) visit(file, []);
  expect(cycles).toEqual([]);
});

it('has no index files', () => {
  expect(sources(SRC).filter((file) => path.basename(file) === 'index.ts')).toEqual([]);
});
