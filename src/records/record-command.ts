import { type Command, Option } from 'commander';
import { exits } from '../cli/exits.js';
import type { Output } from '../cli/output.js';
import { type Run, systemActor } from '../cli/run.js';
import type { PaperRequest } from './paper-writer.js';

interface Options {
  readonly out?: string;
  readonly forCase?: string;
  readonly package?: true;
  readonly labels?: true;
  readonly unit?: string;
  readonly statement?: string;
}

/** `record`: the PDF of a lot, the package around it, and the papers that go with its units. */
export function addRecordCommand(program: Command, run: Run): void {
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
    .action((lot: string, options: Options) =>
      run(async ({ issuer, packages, papers: writer }, out) => {
        const request = paperOf(options);
        if (request) {
          const written = await writer.write(lot, systemActor(), request, options.out);
          out.object(written);
          out.line(`${written.serials.join(', ')}: ${written.file}${written.draft ? ' (draft: not released)' : ''}`);
          return 0;
        }
        const to = options.package ? {} : { out: options.out };
        const issued = await issuer.issue(lot, systemActor(), { ...to, forCase: options.forCase });
        const written = options.package ? await packages.write(issued, options.out) : undefined;
        out.object(written ? { ...issued, package: written } : issued);
        sayIssued(issued, out);
        if (written) {
          out.line(`Package of ${written.files} files: ${written.file}`);
          for (const says of written.leftOut) out.line(`  left out: ${says}`);
        }
        return 0;
      }),
    );
}

function paperOf({ labels, unit, statement, forCase }: Options): PaperRequest | undefined {
  if (labels) return { paper: 'labels', forCase };
  if (unit !== undefined) return { paper: 'unit-sheet', serial: unit };
  return statement === undefined ? undefined : { paper: 'statement', serial: statement };
}

function sayIssued(
  issued: {
    number: string;
    revision: number;
    draft: boolean;
    file: string;
    dossierSha256: string;
    enclosureSha256: string;
  },
  out: Output,
): void {
  const state = issued.draft ? 'draft' : 'final, sealed';
  out.line(`Record ${issued.number}, revision ${issued.revision} (${state}): ${issued.file}`);
  out.line(`Content ${issued.dossierSha256.slice(0, 12)}, enclosure ${issued.enclosureSha256.slice(0, 12)}.`);
}
