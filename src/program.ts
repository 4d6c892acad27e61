import { Command, CommanderError } from 'commander';
import { programName } from './base/settings.js';
import { addCalcCommand } from './calculator/calc-command.js';
import { addBackupCommand } from './custody/backup-command.js';
import { addCheckCommand } from './custody/check-command.js';
import { addKeysCommand } from './custody/keys-command.js';
import { addLedgerCommand } from './custody/ledger-command.js';
import { addLegalHoldCommand } from './custody/legal-hold-command.js';
import { addRedactCommand } from './custody/redact-command.js';
import { addRelocateCommand } from './custody/relocate-command.js';
import { addRestoreCommand } from './custody/restore-command.js';
import { addRetentionCommand } from './custody/retention-command.js';
import { addDesignCommand } from './design-file/design-command.js';
import { addIntakeCommand } from './intake/intake-command.js';
import { addAssessCommand } from './lots/assess-command.js';
import { addNonconformityCommand } from './lots/nonconformity-command.js';
import { addResultsCommand } from './lots/results-command.js';
import { addPeopleCommand } from './people/people-command.js';
import { addPrepareCommand } from './prepare/prepare-command.js';
import { addDemoCommand } from './qualification/demo-command.js';
import { addSelfCheckCommand } from './qualification/self-check-command.js';
import { addChannelMapCommand } from './recorder/channel-map-command.js';
import { addLogStreamCommand } from './recorder/log-stream-command.js';
import { addRecordCommand } from './records/record-command.js';
import { addServeCommand } from './serve-command.js';
import { addLookAtCommand } from './signing/look-at-command.js';
import { addSignCommand } from './signing/sign-command.js';
import { addStatusCommand } from './signing/status-command.js';
import { addWaitingCommand } from './signing/waiting-command.js';
import { addImpactCommand } from './trace/impact-command.js';
import { addRecallCommand } from './trace/recall-command.js';
import { addTraceCommand } from './trace/trace-command.js';
import { addTrendCommand } from './trend/trend-command.js';
import { addVerifyCommand } from './verify/verify-command.js';

/** In the order of `--help`. */
const COMMANDS = [
  addServeCommand,
  addDemoCommand,
  addPrepareCommand,
  addIntakeCommand,
  addChannelMapCommand,
  addLogStreamCommand,
  addStatusCommand,
  addAssessCommand,
  addResultsCommand,
  addRecordCommand,
  addNonconformityCommand,
  addSignCommand,
  addWaitingCommand,
  addLookAtCommand,
  addPeopleCommand,
  addTraceCommand,
  addImpactCommand,
  addRecallCommand,
  addTrendCommand,
  addDesignCommand,
  addVerifyCommand,
  addCalcCommand,
  addLedgerCommand,
  addBackupCommand,
  addRestoreCommand,
  addRelocateCommand,
  addCheckCommand,
  addRetentionCommand,
  addLegalHoldCommand,
  addRedactCommand,
  addKeysCommand,
  addSelfCheckCommand,
];

/** Every command, ready to parse. Wrong usage throws a CommanderError; nothing runs before `parseAsync`. */
export function buildProgram(): Command {
  // Commands take over what stands here before they are added.
  const program = new Command('lotwright')
    .description(
      'Lot records, capability and traceability for patient-specific resorbable metal implants. ' +
        'It proposes and keeps records; clinical use needs qualified clinical, quality and regulatory review.',
    )
    .option('--data <folder>', 'data folder; LOTWRIGHT_DATA, else var/data beside the sources, or here when installed')
    .option('--json', 'print one JSON object')
    .option('-V, --version', 'output the version number')
    .on('option:version', sayVersion)
    .showHelpAfterError()
    .exitOverride();
  for (const add of COMMANDS) add(program);
  return program;
}

/** The name of the build takes a while, so commander does not get it beforehand. */
function sayVersion(): never {
  const name = programName();
  process.stdout.write(`${name}\n`);
  throw new CommanderError(0, 'commander.version', name);
}
