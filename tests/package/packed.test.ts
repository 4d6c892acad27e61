import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { temporaryFolder } from '../support/cell.js';
import { installBudget } from './budget.js';

/** Packs, compiles a native package and runs the demo: minutes, so it belongs to the long run. */
const inTheLongRun = process.env.LOTWRIGHT_TEST_LONG ? describe : describe.skip;

const MADE = ['node_modules', 'dist', 'var', 'coverage', 'third-party', '.git', 'npm-shrinkwrap.json'];

inTheLongRun('the package that npm pack makes', () => {
  const home = temporaryFolder('installed');
  const program = path.join(home, 'node_modules', 'lotwright');
  const cli = path.join(program, 'bundle', 'cli.js');
  const run = (command: string, args: readonly string[], cwd: string) =>
    execFileSync(command, args, { cwd, encoding: 'utf8', maxBuffer: 1 << 28, env: environment() });
  const lotwright = (...args: string[]) => run(process.execPath, [cli, ...args], home);

  beforeAll(() => {
    const sources = temporaryFolder('sources');
    fs.cpSync(PROGRAM_ROOT, sources, {
      recursive: true,
      filter: (from) => {
        const place = path.relative(PROGRAM_ROOT, from);
        return !MADE.includes(place) && !place.startsWith(path.join('src', 'store', 'generated'));
      },
    });
    // A link is left alone when packages are looked at, so that nothing is fetched to compile.
    fs.symlinkSync(fs.realpathSync(path.join(PROGRAM_ROOT, 'node_modules')), path.join(sources, 'node_modules'));
    run('npm', ['pack', '--loglevel=error'], sources);
    const packed = fs.readdirSync(sources).find((name) => name.endsWith('.tgz'))!;
    run('npm', ['install', path.join(sources, packed), '--omit=dev', '--prefer-offline', '--loglevel=error'], home);
    fs.rmSync(sources, { recursive: true });
  });

  it('brings what runs, and neither sources nor tests', () => {
    expect(fs.readdirSync(program).sort()).toEqual(
      [
        'README.md',
        'bundle',
        'deploy',
        'docs',
        'fonts',
        'npm-shrinkwrap.json',
        'package.json',
        'prisma',
        'templates',
        'third-party',
      ].sort(),
    );
    const files = fs.readdirSync(program, { recursive: true, encoding: 'utf8' });
    expect(files.filter((file) => /\.(ts|map|tsbuildinfo|test\.js)$/.test(file))).toEqual([]);
  });

  it('installs with no more packages and bytes than the budgets allow', () => {
    const places = run('npm', ['ls', '--all', '--parseable'], home).trim().split('\n');
    expect(places.length - 1).toBeLessThanOrEqual(installBudget('packages'));
    const bytes = fs
      .readdirSync(path.join(home, 'node_modules'), { recursive: true, withFileTypes: true })
      .reduce((sum, entry) => sum + fs.lstatSync(path.join(entry.parentPath, entry.name)).blocks * 512, 0);
    expect(bytes / 2 ** 20).toBeLessThanOrEqual(installBudget('size'));
  });

  it('is the same build as the sources that it was made of', () => {
    const fromSources = run(process.execPath, [path.join(PROGRAM_ROOT, 'bundle', 'cli.js'), '--version'], home);
    expect(lotwright('--version')).toBe(fromSources);
  });

  it('runs the demo and verifies a record that it wrote', () => {
    lotwright('demo', '--data', 'demo');
    const records = fs.readdirSync(path.join(home, 'demo', 'records')).filter((name) => name.endsWith('.pdf'));
    expect(records.length).toBeGreaterThan(0);
    const report = JSON.parse(lotwright('verify', path.join('demo', 'records', records[0]!), '--json')) as object;
    expect(report).toMatchObject({ answer: 'issuer not compared' });
  });

  it('serves pages, and keeps its data where it was called and not among the packages', async () => {
    const args = [cli, 'serve', '--port', '0'];
    const service = spawn(process.execPath, args, {
      cwd: home,
      stdio: ['ignore', 'pipe', 'ignore'],
      env: environment(),
    });
    try {
      let url: string | undefined;
      for await (const line of createInterface({ input: service.stdout })) {
        url = /http:\/\/127\.0\.0\.1:\d+/.exec(line)?.[0];
        if (url !== undefined) break;
      }
      const page = await fetch(`${url}/sign-in`);
      expect([page.status, await page.text()]).toEqual([200, expect.stringContaining('Lotwright')]);
      expect((await fetch(`${url}/assets/fonts/source-sans-3-regular.ttf`)).status).toBe(200);
    } finally {
      service.kill();
      await once(service, 'exit');
    }
    expect(fs.existsSync(path.join(home, 'var', 'data'))).toBe(true);
    expect(fs.existsSync(path.join(program, 'var'))).toBe(false);
  });
});

/** As a person's, without what npm tells the scripts that it runs: it would take this checkout for the place to install in. */
function environment(): NodeJS.ProcessEnv {
  const theirs =
    /^(npm_(package|lifecycle|command|execpath|config_(local_prefix|node_gyp))|INIT_CWD|LOTWRIGHT_|NODE_OPTIONS)/;
  return Object.fromEntries(Object.entries(process.env).filter(([name]) => !theirs.test(name)));
}
