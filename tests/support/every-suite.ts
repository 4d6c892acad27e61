import { systemClock } from '../../src/base/clock.js';
import { BACKSTOP_MS } from './backstop.js';
import { removeTemporaryFolders } from './cell.js';
import { runAhead } from './clock-ahead.js';

runAhead(systemClock);

// Runs anew for each suite, though modules are loaded once.
afterAll(removeTemporaryFolders);

beforeEach(({ task }) => {
  if (task.timeout !== BACKSTOP_MS) throw new Error(`"${task.name}" has a time of its own; wait for what it waits for`);
});
