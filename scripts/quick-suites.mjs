import fs from 'node:fs';
import path from 'node:path';
import { ROOT } from './ensure.mjs';

const TESTS = path.join(ROOT, 'tests');
const SRC = path.join(ROOT, 'src');

/** What makes a suite heavy, however it comes into it. */
const HEAVY = new Set([
  // Another program, or a browser.
  'node:child_process',
  'playwright-core',
  // The whole service; whole records, drawn and verified; the demo, which is minutes of somebody's work.
  ...[
    'main',
    'records/render-record',
    'verify/verify-record',
    'qualification/run-demo',
    'qualification/demo-people',
  ].map((name) => path.join(SRC, `${name}.ts`)),
]);
/** What is needed only as a type does not run. */
const IMPORTED = /\b(?:import|export)(?! type\b)\b[^;'"]*?\bfrom '([^']+)'/g;

/** A suite that has a long form is heavy in its short one too. Any other that takes seconds says so in its first lines. */
const SAYS_SO = /LOTWRIGHT_TEST_LONG|^\/\/ Not quick: /m;

/** Suites that a person runs while working. */
export function quickSuites() {
  const known = new Map();
  const isHeavy = (file) => {
    if (!known.has(file)) {
      known.set(file, false);
      known.set(
        file,
        importsOf(file).some((one) => HEAVY.has(one) || (one.startsWith(TESTS) && isHeavy(one))),
      );
    }
    return known.get(file);
  };
  return fs
    .readdirSync(TESTS, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.test.ts'))
    .map((name) => path.join(TESTS, name))
    .filter((file) => !SAYS_SO.test(fs.readFileSync(file, 'utf8')) && !isHeavy(file))
    .map((file) => path.relative(ROOT, file));
}

/** Packages by name, files by path. */
function importsOf(file) {
  if (!fs.existsSync(file)) return [];
  return [...fs.readFileSync(file, 'utf8').matchAll(IMPORTED)].map(([, from]) =>
    from.startsWith('.') ? path.resolve(path.dirname(file), from).replace(/\.js$/, '.ts') : from,
  );
}
