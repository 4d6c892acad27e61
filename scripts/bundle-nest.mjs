// Part of the build: puts the framework, which comes in 600 files, into the few that `NEST_FILES` names.
import fs from 'node:fs';
import path from 'node:path';
import { build } from 'vite';
import { ROOT } from './ensure.mjs';
import { isOfNest, NEST_FILES, NEST_FOLDER } from './nest-files.mjs';

const { dependencies } = JSON.parse(fs.readFileSync(path.join(ROOT, 'package.json'), 'utf8'));

await build({
  configFile: false,
  root: ROOT,
  publicDir: false,
  logLevel: 'warn',
  // As modules, of which only what is used goes in. Node gets them as CommonJS.
  resolve: { alias: { rxjs: path.join(ROOT, 'node_modules', 'rxjs', 'dist', 'esm') } },
  // A package that we name ourselves stays one, so that the framework and we have the same.
  ssr: { noExternal: true, external: Object.keys(dependencies).filter((name) => !isOfNest(name)) },
  build: {
    ssr: true,
    target: 'node20',
    outDir: NEST_FOLDER,
    emptyOutDir: true,
    // Errors are to say where they come from.
    minify: false,
    license: { fileName: 'LICENSES.md' },
    rolldownOptions: {
      input: Object.fromEntries(Object.entries(NEST_FILES).map(([name, file]) => [path.basename(file, '.js'), name])),
      // The framework reads names of its classes, which must stay what they are where two of them meet in one file.
      output: { entryFileNames: '[name].js', chunkFileNames: 'parts/[name].js', keepNames: true },
    },
  },
});
