import { Command } from 'commander';
import { PROGRAM } from './base/settings.js';
import { addCalcCommand } from './calculator/calc-command.js';
import { runWith } from './cli/run.js';
import { addCustodyCommands } from './custody/custody-commands.js';
import { addLedgerCommands } from './custody/ledger-commands.js';
import { addLotCommands } from './doors/lot-commands.js';
import { addQuestionCommands } from './doors/question-commands.js';
import { addServiceCommands } from './doors/service-commands.js';
import { addPeopleCommands } from './people/people-commands.js';
import { addSelfCheckCommand } from './qualification/self-check-command.js';
import { addSignCommand } from './signing/sign-command.js';

/** Every command, ready to parse. Wrong usage throws a CommanderError; nothing runs before `parseAsync`. */
export function buildProgram(): Command {
  // Commands take over what stands here before they are added.
  const program = new Command('lotwright')
    .version(PROGRAM)
    .description(
      'Lot records, capability and traceability for patient-specific resorbable metal implants. ' +
        'It proposes and keeps records; clinical use needs qualified clinical, quality and regulatory review.',
    )
    .option('--data <folder>', 'data folder; LOTWRIGHT_DATA, else var/data beside the sources, or here when installed')
    .option('--json', 'print one JSON object')
    .showHelpAfterError()
    .exitOverride();
  const run = runWith(program);
  addServiceCommands(program);
  addLotCommands(program, run);
  addSignCommand(program, run);
  addPeopleCommands(program, run);
  addQuestionCommands(program, run);
  addCalcCommand(program);
  addLedgerCommands(program, run);
  addCustodyCommands(program, run);
  addSelfCheckCommand(program, run);
  return program;
}
