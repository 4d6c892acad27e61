// Installs npm packages and compiles, but only what is missing or out of date. Needs nothing but Node.
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { importNestFiles, NEST_FILES, NEST_FOLDER } from './nest-files.mjs';

export const ROOT = path.dirname(path.dirname(fileURLToPath(import.meta.url)));

export function run(command, args, options = {}) {
  const done = spawnSync(command, args, { cwd: ROOT, stdio: 'inherit', ...options });
  if (done.error) throw done.error;
  if (done.status !== 0) process.exit(done.status ?? 1);
}

const at = (...steps) => path.join(ROOT, ...steps);
const modified = (file) => (fs.existsSync(file) ? fs.statSync(file).mtimeMs : 0);

function newest(folder) {
  let latest = 0;
  for (const entry of fs.readdirSync(folder, { withFileTypes: true, recursive: true })) {
    if (entry.isFile()) latest = Math.max(latest, modified(path.join(entry.parentPath ?? entry.path, entry.name)));
  }
  return latest;
}

/** `npm ci` when the installed packages are not those of the lock file. */
export function ensurePackages() {
  // A link leads into another checkout, whose packages `npm ci` would remove first.
  if (fs.lstatSync(at('node_modules'), { throwIfNoEntry: false })?.isSymbolicLink()) return;
  if (modified(at('node_modules', '.package-lock.json')) >= modified(at('package-lock.json'))) return;
  console.log('Installing npm packages (a minute or two, once)…');
  run('npm', ['ci', '--no-audit', '--no-fund', '--loglevel=error']);
  const now = new Date();
  fs.utimesSync(at('node_modules', '.package-lock.json'), now, now);
}

/** The schema in the words of the second engine. */
export const postgresqlSchema = (schema) =>
  schema
    .replace('provider = "sqlite"', 'provider = "postgresql"')
    .replace('"../src/store/generated"', '"../src/store/generated-postgresql"');

/** The database clients, one for each engine, when the schema is newer than they are. */
export function ensureClient() {
  const source = at('prisma', 'schema.prisma');
  const clients = [
    { folder: at('src', 'store', 'generated'), ofSchema: (schema) => schema },
    { folder: at('src', 'store', 'generated-postgresql'), ofSchema: postgresqlSchema },
  ];
  const behind = clients.filter(({ folder }) => modified(path.join(folder, 'client.ts')) < modified(source));
  if (behind.length === 0) return;
  console.log('Generating the database client…');
  for (const { folder, ofSchema } of behind) {
    const schema = at('prisma', `.generated-${process.pid}.prisma`);
    fs.writeFileSync(schema, ofSchema(fs.readFileSync(source, 'utf8')));
    try {
      const cli = at('node_modules', 'prisma-cli', 'build', 'index.js');
      run(process.execPath, [cli, 'generate', '--schema', schema], { stdio: ['ignore', 'ignore', 'inherit'] });
    } finally {
      fs.rmSync(schema);
    }
    useModuleOfRuntime(folder);
  }
}

/** Under Node its runtime comes as CommonJS, which modules take 50 ms longer to load than the module beside it. */
function useModuleOfRuntime(folder) {
  for (const name of fs.readdirSync(folder, { recursive: true, encoding: 'utf8' })) {
    if (!name.endsWith('.ts')) continue;
    const file = path.join(folder, name);
    const text = fs.readFileSync(file, 'utf8');
    const changed = text.replaceAll('"@prisma/client/runtime/client"', '"@prisma/client/runtime/client.mjs"');
    fs.writeFileSync(file, changed);
  }
}

/**
 * The units of measure in the one file that their makers build: the package would bring a compiler and readers of its
 * sources into every installation.
 */
export function ensureUnits() {
  const from = at('node_modules', '@lhncbc', 'ucum-lhc');
  const to = at('third-party', 'ucum-lhc');
  fs.mkdirSync(to, { recursive: true });
  for (const [source, copy] of [
    ['browser-dist/ucum-lhc.min.js', 'ucum-lhc.min.cjs'],
    ['LICENSE.md', 'LICENSE.md'],
  ]) {
    const bytes = fs.readFileSync(path.join(from, source));
    const file = path.join(to, copy);
    if (!fs.existsSync(file) || !fs.readFileSync(file).equals(bytes)) fs.writeFileSync(file, bytes);
  }
}

/** The framework in few files: a command takes 0.2 s to find and open the hundreds that it comes in. */
function ensureNest() {
  const made = Math.min(...Object.values(NEST_FILES).map((name) => modified(path.join(NEST_FOLDER, name))));
  const from = ['package-lock.json', 'scripts/bundle-nest.mjs', 'scripts/nest-files.mjs'];
  if (made < Math.max(...from.map((name) => modified(at(name)))))
    run(process.execPath, [at('scripts', 'bundle-nest.mjs')]);
}

/** The tree over a mesh in one file: both packages would bring 27 MB, and one of them a renderer of pictures. */
function ensureMeshTree() {
  const made = modified(at('third-party', 'mesh-tree', 'mesh-tree.cjs'));
  const from = ['package-lock.json', 'scripts/bundle-mesh-tree.mjs'];
  if (made < Math.max(...from.map((name) => modified(at(name)))))
    run(process.execPath, [at('scripts', 'bundle-mesh-tree.mjs')]);
}

/** What was compiled from a source that is gone: the name of a build counts every file. */
function orphans() {
  if (!fs.existsSync(at('dist'))) return [];
  return fs.readdirSync(at('dist'), { recursive: true, encoding: 'utf8' }).filter((name) => {
    const source = /^(.*)\.js(?:\.map)?$/.exec(name)?.[1];
    return source !== undefined && !fs.existsSync(at('src', `${source}.ts`));
  });
}

/** What the build rests on apart from the sources: settings of the compiler, names of files, and the libraries that the rules take in. */
const BESIDES = [
  'tsconfig.json',
  'tsconfig.build.json',
  'package-lock.json',
  path.join('scripts', 'nest-files.mjs'),
  path.join('scripts', 'bundle-program.mjs'),
  path.join('third-party', 'ucum-lhc', 'ucum-lhc.min.cjs'),
];

/** The compiled program, when a source or what else it rests on is newer than it, or a source is gone. */
export function ensureBuilt() {
  ensurePackages();
  ensureClient();
  ensureUnits();
  ensureNest();
  ensureMeshTree();
  // The compiled modules, for tests and benches, and the program that is made of them.
  const stamps = [at('dist', '.built'), at('bundle', '.built')];
  const gone = orphans();
  const settings = BESIDES.map((name) => modified(at(name)));
  if (gone.length === 0 && Math.min(...stamps.map(modified)) >= Math.max(newest(at('src')), ...settings)) return;
  console.log('Compiling…');
  for (const name of gone) fs.rmSync(at('dist', name));
  run(process.execPath, [at('node_modules', 'typescript-compiler', 'bin', 'tsc'), '-p', 'tsconfig.build.json']);
  importNestFiles(at('dist'));
  run(process.execPath, [at('scripts', 'write-assessment-version.mjs')]);
  run(process.execPath, [at('scripts', 'bundle-program.mjs')]);
  for (const stamp of stamps) fs.writeFileSync(stamp, '');
}
