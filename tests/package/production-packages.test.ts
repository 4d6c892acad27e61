import fs from 'node:fs';
import { installBudget } from './budget.js';

interface Locked {
  readonly version: string;
  /** The true name of a package that is installed under another one. */
  readonly name?: string;
  readonly dev?: boolean;
  readonly hasInstallScript?: boolean;
  readonly os?: readonly string[];
  readonly cpu?: readonly string[];
  readonly libc?: readonly string[];
}

const read = (file: string) => fs.readFileSync(file, 'utf8');
const manifest = JSON.parse(read('package.json')) as {
  readonly dependencies: Readonly<Record<string, string>>;
  readonly devDependencies: Readonly<Record<string, string>>;
  readonly allowScripts: Readonly<Record<string, boolean>>;
};
const locked = Object.entries((JSON.parse(read('package-lock.json')) as { packages: Record<string, Locked> }).packages)
  .filter(([place]) => place !== '')
  .map(([place, entry]) => ({ ...entry, name: entry.name ?? place.slice(place.lastIndexOf('node_modules/') + 13) }));

const { header } = process.report.getReport() as unknown as { header: { glibcVersionRuntime?: string } };
const libc = header.glibcVersionRuntime === undefined ? 'musl' : 'glibc';
const fits = ({ os, cpu, libc: of }: Locked): boolean =>
  (os?.includes(process.platform) ?? true) &&
  (cpu?.includes(process.arch) ?? true) &&
  (process.platform !== 'linux' || (of?.includes(libc) ?? true));

/** What `npm ci --omit=dev` installs on this machine: npm marks what only develops the program, and nothing else goes. */
const production = locked.filter((entry) => entry.dev !== true && fits(entry));

it('installs no more packages with the program than the budget allows', () => {
  expect(production.length).toBeGreaterThan(Object.keys(manifest.dependencies).length);
  expect(production.length).toBeLessThanOrEqual(installBudget('packages'));
});

it('installs no front-end, no further database, no compiler and no tool with the program', () => {
  const barred =
    /^(react|react-dom|preact|vue|svelte|mysql2?|pg|mariadb|mssql|tedious|mongodb|sqlite3|typescript|coffeescript|esbuild|rollup|webpack|prisma|effect|@prisma\/(studio|dev|engines|config|fetch).*|@electric-sql\/.*|@(typescript|babel|swc\/core|types|stdlib|visx|radix-ui).*)$/;
  expect(barred.test('@types/node') && barred.test('@swc/core-linux-x64-gnu')).toBe(true);
  expect(production.filter(({ name }) => barred.test(name)).map(({ name }) => name)).toEqual([]);
});

it('lets one package of the program run a script when it is installed, and decides on every other', () => {
  expect(production.filter((entry) => entry.hasInstallScript).map(({ name }) => name)).toEqual(['better-sqlite3']);
  const undecided = locked.filter((entry) => entry.hasInstallScript && manifest.allowScripts[entry.name] === undefined);
  expect(undecided.map(({ name }) => name)).toEqual([]);
});

const SOURCES = fs
  .readdirSync('src', { withFileTypes: true, recursive: true })
  .filter((entry) => entry.isFile() && entry.name.endsWith('.ts') && !entry.parentPath.includes('generated'))
  .map((entry) => read(`${entry.parentPath}/${entry.name}`))
  .join('\n');

/** Peers that packages of the framework load themselves, and the client that generated code loads. */
const LOADED_BY_OTHERS = ['rxjs', '@prisma/client'];

it.each(Object.keys(manifest.dependencies).filter((name) => !LOADED_BY_OTHERS.includes(name)))(
  'has a source that loads %s',
  (name) => expect(SOURCES).toMatch(new RegExp(`'${name}(/[^']*)?'`)),
);

const reasons = read('DEVELOPERS.md').split('## Dependencies')[1] ?? '';

it.each(Object.keys({ ...manifest.dependencies, ...manifest.devDependencies }))(
  'DEVELOPERS.md says why %s stays',
  (name) => {
    const scope = `\`${name.split('/')[0]}/*\``;
    expect(reasons.includes(`\`${name}\``) || reasons.includes(scope)).toBe(true);
  },
);
