// Part of the build: puts the compiled modules into files of what is needed together. A command finds and opens 700 of them
// else, which takes a third of its time.
import fs from 'node:fs';
import path from 'node:path';
import { build } from 'vite';
import { ROOT } from './ensure.mjs';

const COMPILED = path.join(ROOT, 'dist');
const BUNDLE = path.join(ROOT, 'bundle');
const { dependencies } = JSON.parse(fs.readFileSync(path.join(ROOT, 'package.json'), 'utf8'));

/** A file that another names by its place: a worker thread, or what one loads. It keeps its own place in the bundle. */
const NAMED = /new URL\('([^']+\.js)', import\.meta\.url\)/g;

function entries() {
  // The clock, so that tests of the program can set it.
  const found = new Set(['cli.js', 'base/clock.js']);
  for (const name of fs.readdirSync(COMPILED, { recursive: true, encoding: 'utf8' })) {
    if (!name.endsWith('.js')) continue;
    const text = fs.readFileSync(path.join(COMPILED, name), 'utf8');
    for (const [, to] of text.matchAll(NAMED)) found.add(path.posix.join(path.posix.dirname(name), to));
  }
  return Object.fromEntries([...found].sort().map((name) => [name.slice(0, -3), path.join(COMPILED, name)]));
}

/** Stands for the bundle in the place of a module until it is known in which file, and how deep, the module comes to lie. */
const HERE = 'bundle-root:';

/** A module goes on to find files from where it was compiled to, whatever file it is put into. */
const places = {
  name: 'places of modules',
  enforce: 'pre',
  resolveId(source, importer) {
    if (!source.includes('third-party/')) return undefined;
    return { id: path.resolve(path.dirname(importer), source), external: 'relative' };
  },
  transform(code, id) {
    if (!id.startsWith(COMPILED) || !code.includes('import.meta.url')) return undefined;
    const own = path.relative(COMPILED, id).replaceAll(path.sep, '/');
    return code.replaceAll('import.meta.url', `new URL('${HERE}${own}', import.meta.url).href`);
  },
  renderChunk(code, { fileName }) {
    return code.replaceAll(HERE, './'.concat('../'.repeat(fileName.split('/').length - 1)));
  },
};

await build({
  configFile: false,
  root: ROOT,
  publicDir: false,
  logLevel: 'warn',
  plugins: [places],
  ssr: { noExternal: true, external: Object.keys(dependencies) },
  build: {
    ssr: true,
    target: 'node20',
    outDir: BUNDLE,
    emptyOutDir: true,
    // Errors are to say where they come from.
    minify: false,
    rolldownOptions: {
      external: [/^node:/, /^#/, /^@prisma\/client\//],
      input: entries(),
      // The framework tells classes apart by their names.
      output: { entryFileNames: '[name].js', chunkFileNames: 'parts/[name]-[hash].js', keepNames: true },
    },
  },
});
