// Lets a command of the compiled program run ahead as its test does: node --import ./tests/support/clock-ahead-compiled.mjs
import { systemClock } from '../../bundle/base/clock.js';

const aheadMs = Number(process.env.TEST_CLOCK_AHEAD_MS ?? 0);
systemClock.now = () => new Date(Date.now() + aheadMs);
