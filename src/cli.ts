#!/usr/bin/env node
import { setFlagsFromString } from 'node:v8';
import { CommanderError } from 'commander';
import { buildProgram } from './program.js';

/**
 * V8 compiles busy functions a second time to make them faster, and most commands end before that pays: it took a quarter
 * of their processor time. What runs for seconds gets there all the same, some milliseconds later.
 */
setFlagsFromString('--interrupt-budget=500000');

// A reader such as `head` may close the pipe early. That is no error of ours, and no reason to end with another code: what
// the command found out is found out all the same.
for (const output of [process.stdout, process.stderr]) {
  output.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
  });
}

try {
  await buildProgram().parseAsync(process.argv);
} catch (error) {
  if (!(error instanceof CommanderError)) throw error;
  // Wrong usage is bad input: exit code 2, as for every other bad input.
  process.exitCode = error.exitCode === 0 ? 0 : 2;
}
// Once everything is written: else V8 tidies up memory that ends with the process.
process.stdout.write('', () => process.exit());
