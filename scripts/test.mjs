// usage: npm test | npm run test:quick | npm run test:long
// Installs and compiles what is missing, then runs the suites. Further arguments go to vitest.
import { spawnSync } from 'node:child_process';
import { ensureBuilt, ROOT } from './ensure.mjs';
import { quickSuites } from './quick-suites.mjs';

ensureBuilt();
const args = process.argv.slice(2);
const long = args.includes('--long');
const quick = args.includes('--quick');
const rest = args.filter((arg) => arg !== '--long' && arg !== '--quick');
const vitest = ['node_modules/vitest/vitest.mjs', 'run', ...(quick ? quickSuites() : []), ...rest];
const done = spawnSync(process.execPath, vitest, {
  cwd: ROOT,
  stdio: 'inherit',
  env: { ...process.env, LOTWRIGHT_TEST_LONG: long ? '1' : '' },
});
process.exit(done.status ?? 1);
