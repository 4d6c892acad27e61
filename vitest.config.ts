import { defineConfig } from 'vitest/config';
import { BACKSTOP_MS } from './tests/support/backstop.js';
import { LongestFirst } from './tests/support/longest-first.js';

export default defineConfig({
  test: {
    globals: true,
    include: ['tests/**/*.test.ts'],
    globalSetup: ['tests/support/run-folder.ts'],
    setupFiles: ['tests/support/every-suite.ts'],
    pool: 'forks',
    // Both cores have a process of the run already: helpers of its collector only take time from the other.
    execArgv: ['--single-threaded-gc'],
    // The suites of one process share the modules that they load: loading them anew took most of the time of a run.
    isolate: false,
    maxWorkers: '100%',
    sequence: { sequencer: LongestFirst },
    // What was compiled once is read from disk by the next run. Not below node_modules: where checkouts share that, a
    // run of one with another lock file takes away what runs of the others are about to read.
    experimental: { fsModuleCache: true, fsModuleCachePath: 'var/vitest' },
    testTimeout: BACKSTOP_MS,
    hookTimeout: BACKSTOP_MS,
    teardownTimeout: BACKSTOP_MS,
  },
});
