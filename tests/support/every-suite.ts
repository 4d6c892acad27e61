import fc from 'fast-check';
import { systemClock } from '../../src/base/clock.js';
import { BACKSTOP_MS } from './backstop.js';
import { removeTemporaryFolders } from './cell.js';
import { runAhead } from './clock-ahead.js';
import { isOnServer, putOnServer } from './run-on-server.js';

runAhead(systemClock);
// Not in every run: it loads the engine.
if (isOnServer) putOnServer((await import('../../src/store/chosen-engine.js')).ENGINE);

// A change is judged by the same random cases as the one before it; the long run draws new ones.
if (process.env.LOTWRIGHT_TEST_LONG !== '1') fc.configureGlobal({ seed: 20_310_304 });

// Suites of a process share it: one that put another object in its place would take effect away from what later ones set.
Object.defineProperty(process, 'env', { value: process.env, writable: false, configurable: true });

// Runs anew for each suite, though modules are loaded once.
afterAll(removeTemporaryFolders);

beforeEach(({ task }) => {
  if (task.timeout !== BACKSTOP_MS) throw new Error(`"${task.name}" has a time of its own; wait for what it waits for`);
});
