import { type Command, Option } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

/** `record`: the PDF of a lot, the package around it, and the papers that go with its units. */
export function addRecordCommand(program: Command): void {
  const papers = ['labels', 'unit', 'statement'];
  exits(program.command('record'), { 5: 'refused', 7: 'no such lot, case or implant' })
    .argument('<lot>')
    .option('--out <file>', 'where the file goes; a folder of the data folder when absent')
    .option('--for-case <code>', 'a copy for the institution of this case: the facts of others are left out')
    .addOption(
      new Option('--package', 'a ZIP of record, what it carries and the evidence (BagIt, RFC 8493)').conflicts(papers),
    )
    .addOption(new Option('--labels', 'the labels of its units instead').conflicts(['unit', 'statement']))
    .addOption(
      new Option('--unit <serial>', 'the one-page sheet of a unit instead').conflicts(['statement', 'forCase']),
    )
    .addOption(
      new Option('--statement <serial>', 'the statement of a custom-made unit (Annex XIII) instead').conflicts(
        'forCase',
      ),
    )
    .description('renders the record of a lot as PDF, or the papers of its units')
    .action(onFolder(() => import('./record-run.js')));
}
