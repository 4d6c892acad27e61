// Part of the build: puts the version of the rules into the compiled file that would compute it at each start.
import fs from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { ROOT } from './ensure.mjs';

const base = path.join(ROOT, 'dist', 'base');
const { assessingCode, versionOf } = await import(pathToFileURL(path.join(base, 'assessing-code.js')).href);
const version = versionOf(assessingCode());
fs.writeFileSync(path.join(base, 'assessment-version.js'), `export const ASSESSMENT_VERSION = '${version}';\n`);
