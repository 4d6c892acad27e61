import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

/** The folder of its code: `src`, `dist` once compiled, and `bundle` as it is run. */
export const PROGRAM_CODE = path.dirname(path.dirname(fileURLToPath(import.meta.url)));

/** The folder of the program: one above its code. */
export const PROGRAM_ROOT = path.dirname(PROGRAM_CODE);
const UNITS_FILE = 'third-party/ucum-lhc/ucum-lhc.min.cjs';
/** Font of the record for Chinese, Japanese and Korean, in the folder of the program. */
export const HAN_FONT_FILE = 'fonts/wqy-micro-hei/WenQuanYiMicroHei.ttf';

/**
 * Which code this is: SHA-256 over every file of the program and the locked digests of the libraries that it runs with.
 * Two builds of one version may compute or draw differently, and a record must be compared only with what made it.
 */
function buildOf(): string {
  const hash = createHash('sha256').update(JSON.stringify(lockedLibraries()));
  const files = fs
    .readdirSync(PROGRAM_CODE, { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.(js|ts)$/.test(name));
  for (const name of files.sort()) hash.update(name).update(fs.readFileSync(path.join(PROGRAM_CODE, name)));
  return hash.digest('hex').slice(0, 12);
}

/**
 * A checkout and the package made of it have the same libraries, and so the same build: what only develops the program is
 * left out, and what is copied, the units of measure and a font, comes with its digest.
 */
export function lockedLibraries(): readonly (string | undefined)[][] {
  const lockFile = ['package-lock.json', 'npm-shrinkwrap.json']
    .map((name) => path.join(PROGRAM_ROOT, name))
    .find((file) => fs.existsSync(file));
  if (lockFile === undefined) throw new Error(`${PROGRAM_ROOT} has no lock file: install the program anew`);
  const { packages } = JSON.parse(fs.readFileSync(lockFile, 'utf8')) as Lock;
  return Object.entries(packages)
    .filter(([place, { dev }]) => place !== '' && dev !== true)
    .map(([place, { version, integrity }]) => [place, version, integrity])
    .concat([UNITS_FILE, HAN_FONT_FILE].map((file) => [file, digestOfFile(file)]));
}

const digestOfFile = (file: string): string =>
  createHash('sha256')
    .update(fs.readFileSync(path.join(PROGRAM_ROOT, file)))
    .digest('hex');

interface Lock {
  readonly packages: Readonly<Record<string, { version?: string; integrity?: string; dev?: boolean }>>;
}

const manifest = JSON.parse(fs.readFileSync(path.join(PROGRAM_ROOT, 'package.json'), 'utf8')) as { version: string };

export const PROGRAM_VERSION = manifest.version;

let build: string | undefined;
/** Read when it is asked for: it takes longer than a command that does not need it. */
export function programBuild(): string {
  build ??= buildOf();
  return build;
}

/** Name, version and build as every page, record and ledger entry states it. */
export const programName = (): string => programNameOf(PROGRAM_VERSION, programBuild());

export const programNameOf = (version: string, build: string): string => `Lotwright ${version} (build ${build})`;

/** What npm installed it also replaces and removes: no data may lie there. */
const isInstalled = PROGRAM_ROOT.split(path.sep).includes('node_modules');

/** The data folder when none is named: `LOTWRIGHT_DATA`, else `var/data` beside a checkout or where an installed program is called. */
export const defaultDataFolder = (): string =>
  process.env.LOTWRIGHT_DATA ?? path.join(isInstalled ? process.cwd() : PROGRAM_ROOT, 'var', 'data');
