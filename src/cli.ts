#!/usr/bin/env node
import { Command } from 'commander';
import { addCalcCommand } from './cli/calc-command.js';
import { addCustodyCommands } from './cli/custody-commands.js';
import { addLedgerCommands } from './cli/ledger-commands.js';
import { addLotCommands } from './cli/lot-commands.js';
import { addPeopleCommands } from './cli/people-commands.js';
import { addQuestionCommands } from './cli/question-commands.js';
import { runWith } from './cli/run.js';
import { addServiceCommands } from './cli/service-commands.js';
import { addSignCommand } from './cli/sign-command.js';
import { PROGRAM } from './settings.js';

// A reader such as `head` may close the pipe early: that is no error of ours.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit(0);
});

const program = new Command('lotwright')
  .version(PROGRAM)
  .description(
    'Lot records, capability and traceability for patient-specific resorbable metal implants. ' +
      'It proposes and keeps records; clinical use needs qualified clinical, quality and regulatory review.',
  )
  .option('--data <folder>', 'data folder; LOTWRIGHT_DATA, else var/data beside the program')
  .option('--json', 'print one JSON object')
  .showHelpAfterError();
const run = runWith(program);
addLotCommands(program, run);
addSignCommand(program, run);
addPeopleCommands(program, run);
addQuestionCommands(program, run);
addLedgerCommands(program, run);
addCustodyCommands(program, run);
addCalcCommand(program);
addServiceCommands(program);
// Wrong usage is bad input: exit code 2, as for every other bad input.
program.exitOverride((error) => process.exit(error.exitCode === 0 ? 0 : 2));
for (const command of program.commands.flatMap((top) => [top, ...top.commands])) {
  command.exitOverride((error) => process.exit(error.exitCode === 0 ? 0 : 2));
}
await program.parseAsync(process.argv);
