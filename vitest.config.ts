import { defineConfig } from 'vitest/config';

/** Only so that a run that hangs ends at all: no test has a time of its own, since a busy machine would break it. */
const AN_HOUR_MS = 3_600_000;

export default defineConfig({
  test: {
    globals: true,
    include: ['tests/**/*.test.ts'],
    globalSetup: ['tests/support/run-folder.ts'],
    setupFiles: ['tests/support/after-each-suite.ts'],
    pool: 'forks',
    // The suites of one process share the modules that they load: loading them anew took most of the time of a run.
    isolate: false,
    maxWorkers: '100%',
    // What was compiled once is read from disk by the next run. Not below node_modules: where checkouts share that, a
    // run of one with another lock file takes away what runs of the others are about to read.
    experimental: { fsModuleCache: true, fsModuleCachePath: 'var/vitest' },
    testTimeout: AN_HOUR_MS,
    hookTimeout: AN_HOUR_MS,
    teardownTimeout: AN_HOUR_MS,
  },
});
