// usage: npm test | npm run test:quick | npm run test:long | npm run test:postgresql
// Installs and compiles what is missing, then runs the suites. Further arguments go to vitest.
import { spawnSync } from 'node:child_process';
import { ensureBuilt, ROOT } from './ensure.mjs';
import { quickSuites } from './quick-suites.mjs';

/** What is run on a server too, where every data folder of a suite has its rows there (tests/support/run-on-server.ts). */
const ON_SERVER = ['tests/store', 'tests/faults', 'tests/custody', 'tests/signing', 'tests/people', 'tests/lots'];

ensureBuilt();
const args = process.argv.slice(2);
const long = args.includes('--long');
const quick = args.includes('--quick');
const onServer = args.includes('--postgresql');
const rest = args.filter((arg) => !['--long', '--quick', '--postgresql'].includes(arg));
const suites = [...(quick ? quickSuites() : []), ...(onServer && rest.length === 0 ? ON_SERVER : [])];
const vitest = ['node_modules/vitest/vitest.mjs', 'run', ...suites, ...rest];
const done = spawnSync(process.execPath, vitest, {
  cwd: ROOT,
  stdio: 'inherit',
  env: {
    ...process.env,
    LOTWRIGHT_TEST_LONG: long ? '1' : '',
    ...(onServer ? { LOTWRIGHT_TEST_ENGINE: 'postgresql' } : {}),
  },
});
process.exit(done.status ?? 1);
