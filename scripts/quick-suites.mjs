import fs from 'node:fs';
import path from 'node:path';
import { ROOT } from './ensure.mjs';

const TESTS = path.join(ROOT, 'tests');
/** The demo is minutes of somebody's work, played. */
const DEMO = path.join(TESTS, 'qualification');
/** What starts another program or a browser, however it comes into a suite. */
const STARTS = /^(node:child_process|playwright-core)$/;
const IMPORTED = /\bfrom '([^']+)'/g;

/** Pack and restore whole folders; draw a record for each attack on it; grow families and stores of many lots. */
const HEAVY = [
  'custody/backup.test.ts',
  'verify/tampering.test.ts',
  'lots/family-history.test.ts',
  'lots/lot-to-record.test.ts',
  'store/many.test.ts',
].map((name) => path.join(TESTS, name));

/** A suite that has a long form is heavy in its short one too. */
const LONG_FORM = 'LOTWRIGHT_TEST_LONG';

/** Suites that a person runs while working: they start no other program and no browser, and are not heavy. */
export function quickSuites() {
  const known = new Map();
  const starts = (file) => {
    if (!known.has(file)) {
      known.set(file, false);
      known.set(file, fs.existsSync(file) && importsOf(file).some((one) => STARTS.test(one) || starts(one)));
    }
    return known.get(file);
  };
  return fs
    .readdirSync(TESTS, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.test.ts'))
    .map((name) => path.join(TESTS, name))
    .filter((file) => !file.startsWith(DEMO) && !HEAVY.includes(file) && !hasLongForm(file) && !starts(file))
    .map((file) => path.relative(ROOT, file));
}

const hasLongForm = (file) => fs.readFileSync(file, 'utf8').includes(LONG_FORM);

/** Packages by name, and files of the tests by path; what the program itself starts is its own. */
function importsOf(file) {
  return [...fs.readFileSync(file, 'utf8').matchAll(IMPORTED)]
    .map(([, from]) => (from.startsWith('.') ? path.resolve(path.dirname(file), from).replace(/\.js$/, '.ts') : from))
    .filter((from) => !path.isAbsolute(from) || from.startsWith(TESTS));
}
