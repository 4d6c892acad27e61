import fc from 'fast-check';
import { systemClock } from '../../src/base/clock.js';
import { BACKSTOP_MS } from './backstop.js';
import { removeTemporaryFolders } from './cell.js';
import { runAhead } from './clock-ahead.js';

runAhead(systemClock);

// A change is judged by the same random cases as the one before it; the long run draws new ones.
if (process.env.LOTWRIGHT_TEST_LONG !== '1') fc.configureGlobal({ seed: 20_310_304 });

// Runs anew for each suite, though modules are loaded once.
afterAll(removeTemporaryFolders);

beforeEach(({ task }) => {
  if (task.timeout !== BACKSTOP_MS) throw new Error(`"${task.name}" has a time of its own; wait for what it waits for`);
});
