import fs from 'node:fs';
import path from 'node:path';

const SRC = path.resolve('src');

interface Import {
  readonly from: string;
  /** Path below src for our own files, else the package's name. */
  readonly to: string;
}

function sources(folder: string): string[] {
  return fs
    .readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && entry.name.endsWith('.ts') && !entry.name.endsWith('.d.ts'))
    .map((entry) => path.join(entry.parentPath, entry.name))
    .filter((file) => !/[\\/]generated(?:-\w+)?[\\/]/.test(file));
}

const IMPORT = /^(?:import|export)\s+[^'"]*?from\s+'([^']+)'|^import\s+'([^']+)'|import\('([^']+)'\)/gm;

const IMPORTS: Import[] = sources(SRC).flatMap((file) => {
  const text = fs.readFileSync(file, 'utf8');
  const from = path.relative(SRC, file).split(path.sep).join('/');
  return [...text.matchAll(IMPORT)].map((match) => {
    const target = (match[1] ?? match[2] ?? match[3])!;
    const to = target.startsWith('.')
      ? path
          .relative(SRC, path.resolve(path.dirname(file), target))
          .split(path.sep)
          .join('/')
          .replace(/\.js$/, '.ts')
      : target;
    return { from, to };
  });
});

const room = (file: string): string => (file.includes('/') ? file.slice(0, file.indexOf('/')) : file);
const among = (rooms: readonly string[]) => (item: Import) => rooms.includes(room(item.from));
const say = (items: readonly Import[]) => items.map(({ from, to }) => `${from} imports ${to}`);

/**
 * Which room may use which, types included; the room of a file straight in `src` is its own name. It is written from the
 * base upwards, and a room names only rooms above its line: so no pair goes both ways (docs/decisions/rooms.md).
 */
const MAY_USE: Readonly<Record<string, string>> = {
  base: '',
  kinds: 'base',
  dossier: 'base kinds',
  ledger: 'base dossier',
  statistics: 'base',
  degradation: 'base kinds statistics',
  shape: 'base kinds statistics',
  calculations: 'base statistics degradation shape',
  'process-logs': 'base kinds dossier',
  assessment: 'base kinds dossier statistics degradation process-logs',
  'design-history': 'base kinds dossier statistics degradation assessment',
  pdf: 'base',
  report: 'base kinds dossier ledger statistics degradation process-logs assessment design-history pdf',
  store: 'base kinds dossier ledger process-logs',
  web: 'base dossier report store',
  cli: 'base report store',
  people: 'base kinds dossier ledger report store web cli',
  lots: 'base kinds dossier ledger statistics degradation assessment design-history report store web cli people',
  intake: 'base kinds dossier ledger degradation shape process-logs pdf report store web cli people lots',
  entry: 'base kinds dossier report store web people lots intake',
  sheets: 'base kinds dossier report store web people intake entry',
  prepare: 'base kinds dossier statistics assessment pdf report store web cli people lots intake entry',
  signing: 'base kinds dossier ledger assessment report store web cli people lots sheets',
  records: 'base kinds dossier ledger assessment pdf report store web cli people lots',
  'design-file': 'base kinds dossier assessment design-history pdf report store web cli people lots intake records',
  desk: 'base kinds dossier ledger process-logs assessment report store web intake people lots sheets signing records design-file',
  trace: 'base kinds dossier ledger assessment pdf report store web cli people lots intake signing records',
  trend: 'base kinds dossier assessment report store web cli people lots signing records',
  custody: 'base kinds dossier ledger report store web cli people lots signing records',
  calculator: 'base calculations report web cli entry',
  verify:
    'base kinds dossier ledger shape process-logs assessment design-history pdf report cli records design-file trace',
  recorder: 'base kinds process-logs report cli',
  qualification:
    'base kinds dossier calculations assessment design-history pdf report store cli intake people lots signing records design-file custody trace trend verify recorder',
  'app.module.ts':
    'store web intake entry sheets prepare people lots signing records design-file desk trace trend custody calculator',
  'main.ts': 'base report store web intake people lots desk custody app.module.ts',
  'serve-run.ts': 'base report store cli main.ts',
  'serve-command.ts': 'cli serve-run.ts',
  'program.ts':
    'base intake people lots prepare signing records trace trend design-file custody calculator verify qualification recorder serve-command.ts',
  'cli.ts': 'program.ts',
  'published-answers.ts': 'lots trace trend',
};

/** Rooms that compute and nothing else, but for what reads logs and shapes, and the workers that do. */
const PURE = [
  'kinds',
  'dossier',
  'ledger',
  'statistics',
  'degradation',
  'shape',
  'calculations',
  'process-logs',
  'assessment',
  'design-history',
  'report',
];
/** Its one file that reads another: the template is text that a quality person edits. */
const TEMPLATE_IO = 'report/standard-template.ts';
const SCANNER_IO = [
  'process-logs/scan-file.ts',
  'process-logs/hash-worker.ts',
  'process-logs/scan-stream.ts',
  'process-logs/side-hash.ts',
  'process-logs/text-source.ts',
  'process-logs/worker.ts',
  'process-logs/mtconnect/spilled-runs.ts',
  'process-logs/mtconnect/run-cursor.ts',
  'process-logs/archive/archive-writer.ts',
  'process-logs/archive/archive-reader.ts',
];
const SHAPE_IO = ['read-mesh', 'read-points', 'shape-of-file', 'box-tree', 'worker'].map((name) => `shape/${name}.ts`);
const OUTSIDE = /^(@nestjs|@prisma|better-sqlite3|node:(?!crypto)|express|pino|piscina|eta|helmet|commander)/;
/** Parts of the base that touch files, clock or threads. */
const BASE_IO =
  /^base\/(clock|settings|assessing-code|assessment-version|kept-version|key-file|disk-trouble|worker-pool|worker-answer)\.ts$/;

it('reads the imports of every file', () => {
  expect(IMPORTS.length).toBeGreaterThan(400);
});

it('lets a room use only the rooms that the map allows, and the map nothing that nobody uses', () => {
  const used = new Map<string, Set<string>>();
  for (const { from, to } of IMPORTS) {
    if (!to.endsWith('.ts') || room(from) === room(to)) continue;
    used.set(room(from), (used.get(room(from)) ?? new Set()).add(room(to)));
  }
  const sorted = (rooms: Iterable<string>) => [...rooms].sort().join(' ');
  const names = new Set([...Object.keys(MAY_USE), ...used.keys()]);
  const map = (of: (name: string) => string) => Object.fromEntries([...names].sort().map((name) => [name, of(name)]));
  expect(map((name) => sorted(used.get(name) ?? []))).toEqual(
    map((name) => sorted((MAY_USE[name] ?? '').split(' ').filter((item) => item !== ''))),
  );
});

it('has no pair of rooms both ways, and no circle of rooms: each uses only what stands above it in the map', () => {
  const order = Object.keys(MAY_USE);
  const upwards = order.flatMap((name, place) =>
    MAY_USE[name]!.split(' ')
      .filter((other) => other !== '' && order.indexOf(other) >= place)
      .map((other) => `${name} uses ${other}`),
  );
  expect(upwards).toEqual([]);
});

it('has a file for every import', () => {
  const files = new Set(sources(SRC).map((file) => path.relative(SRC, file).split(path.sep).join('/')));
  expect(
    say(IMPORTS.filter(({ to }) => to.endsWith('.ts') && !to.startsWith('store/generated') && !files.has(to))),
  ).toEqual([]);
});

it('keeps pure rooms free of frameworks, database, files and clock', () => {
  const scanner = IMPORTS.filter((item) => room(item.from) === 'process-logs' && !SCANNER_IO.includes(item.from));
  const wrong = [...IMPORTS.filter(among(PURE.filter((name) => name !== 'process-logs'))), ...scanner].filter(
    ({ from, to }) =>
      from !== TEMPLATE_IO &&
      !SHAPE_IO.includes(from) &&
      (OUTSIDE.test(to) || BASE_IO.test(to) || to.startsWith('store/')),
  );
  expect(say(wrong)).toEqual([]);
});

it('lets only the store reach the database', () => {
  const wrong = IMPORTS.filter(
    ({ from, to }) =>
      room(from) !== 'store' && (/^(@prisma|better-sqlite3|postgres$)/.test(to) || to.startsWith('store/generated')),
  );
  expect(say(wrong)).toEqual([]);
});

it('names the engine of the database in one place: all others, also in the store, know the port', () => {
  const inEngine = (file: string) => /^store\/(?:sqlite|postgresql)\//.test(file);
  const naming = IMPORTS.filter(({ from, to }) => inEngine(to) && !inEngine(from));
  expect([...new Set(naming.map(({ from }) => from))]).toEqual(['store/chosen-engine.ts']);
});

it('keeps the rule of retention pure', () => {
  const wrong = IMPORTS.filter(
    ({ from, to }) => from === 'report/retention.ts' && !/^(kinds|report\/phrases)\//.test(to),
  );
  expect(say(wrong)).toEqual([]);
});

it('lets only pdf and report draw', () => {
  const wrong = IMPORTS.filter(
    ({ from, to }) => /^(pdfkit|fontkit|d3-)/.test(to) && !['pdf', 'report'].includes(room(from)),
  );
  expect(say(wrong)).toEqual([]);
});

it('has no cycles between files, types included', () => {
  const next = new Map<string, string[]>();
  for (const { from, to } of IMPORTS) {
    if (to.endsWith('.ts')) next.set(from, [...(next.get(from) ?? []), to]);
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
