// Lets the compiled program run ahead as its test or bench does, put together or module by module:
// node --import ./tests/support/clock-ahead-compiled.mjs
import { systemClock as clockOfProgram } from '../../bundle/base/clock.js';
import { systemClock as clockOfModules } from '../../dist/base/clock.js';

const aheadMs = Number(process.env.TEST_CLOCK_AHEAD_MS ?? 0);
for (const clock of [clockOfProgram, clockOfModules]) clock.now = () => new Date(Date.now() + aheadMs);
