// Part of the build: puts the versions of the rules, and of what is kept of lots, into the compiled files that would compute
// them at each start.
import fs from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { ROOT } from './ensure.mjs';

const base = path.join(ROOT, 'dist', 'base');
const { assessingCode, keepingCode, versionOf } = await import(
  pathToFileURL(path.join(base, 'assessing-code.js')).href
);
const write = (name, constant, code) =>
  fs.writeFileSync(path.join(base, `${name}.js`), `export const ${constant} = '${versionOf(code)}';\n`);

write('assessment-version', 'ASSESSMENT_VERSION', assessingCode());
// After the first: what is kept names the version of the rules.
write('kept-version', 'KEPT_VERSION', keepingCode());
