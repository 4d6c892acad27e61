import fs from 'node:fs';
import type { Command } from 'commander';
import { BadInputError } from '../base/errors.js';
import { exits } from '../cli/exits.js';
import type { Output } from '../cli/output.js';
import { dataFolderOf, type Run, runBare, systemActor } from '../cli/run.js';
import { sha256Hex } from '../dossier/canonical.js';
import { headLine, type Note, parseHead, verifierKeyOf } from '../ledger/checkpoint.js';
import { subjectText } from '../ledger/subject.js';
import { DataFolder } from '../store/data-folder.js';
import { EvidenceFiles } from '../store/evidence-files.js';
import { auditLedger, type LedgerReport } from '../store/ledger-audit.js';

interface VerifyOptions {
  readonly evidence?: boolean;
  readonly head?: string;
  readonly headFile?: string;
}

/** The audit trail: its signed head, and the check of everything that it records. */
export function addLedgerCommands(program: Command, run: Run): void {
  const ledger = program.command('ledger').description('the audit trail');

  exits(ledger.command('verify'), { 6: 'something differs', 7: 'no data folder' })
    .option('--evidence', 'hash every evidence file again')
    .option('--head <line>', 'a head that was kept outside: proves that the audit trail has only grown since')
    .option('--head-file <file>', 'the same from a file: the line, or the signed note with its cosigners')
    .description(
      'recomputes the audit trail from its entries, holds every stored row against it, and names what differs',
    )
    .action((options: VerifyOptions) =>
      runBare(program, async (out, common) => {
        const head = keptHead(options);
        const folder = DataFolder.existing(dataFolderOf(common));
        // Without opening the store, which would refuse a folder whose guards somebody removed.
        const evidence = options.evidence ? new EvidenceFiles(folder.evidence) : undefined;
        const report = await auditLedger(folder.database, { head, evidence });
        out.object(report);
        sayReport(report, out);
        return report.ok ? 0 : 6;
      }),
    );

  exits(ledger.command('head'))
    .option('--note', 'as the signed note that cosigners take, instead of one line')
    .description('one line to keep outside the cell: name of the audit trail, entries, root, signature')
    .action((options: { note?: boolean }) =>
      run(async ({ store }, out) => {
        const head = await store.signedHead();
        const line = headLine(head.note);
        const { fingerprint, publicPem } = store.key;
        await store.change(systemActor(), (writer) =>
          writer.recordEvent({
            type: 'exported',
            what: 'signed head',
            filter: { entries: String(head.size) },
            lines: null,
            sha256: sha256Hex(head.checkpoint),
          }),
        );
        const { origin, size, root, checkpoint } = head;
        const verifierKey = verifierKeyOf({ name: origin, publicPem });
        out.object({ origin, size, root, line, checkpoint, key: fingerprint, verifierKey });
        out.line(options.note ? checkpoint.trimEnd() : line);
        return 0;
      }),
    );
}

function keptHead({ head, headFile }: VerifyOptions): Note | undefined {
  if (headFile === undefined) return head === undefined ? undefined : parseHead(head);
  return parseHead(readText(headFile));
}

function readText(file: string): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(fs.readFileSync(file));
  } catch (error) {
    throw new BadInputError([
      {
        code: 'head-file',
        field: '--head-file',
        found: `${file} (${(error as NodeJS.ErrnoException).code ?? 'not UTF-8'})`,
        expected: 'a text file with a head of the audit trail',
        remedy: 'name the file into which "ledger head" was written',
      },
    ]);
  }
}

function sayReport(report: LedgerReport, out: Output): void {
  if (report.ok) {
    out.line(`The audit trail holds: ${report.size} entries, root ${report.root}`);
    out.line(`  ${report.rows} stored rows are as they were recorded.`);
  } else {
    out.line(`The audit trail does not hold: ${report.reason}`);
  }
  if (report.files !== null) out.line(`  ${report.files} evidence files were hashed again.`);
  if (report.head) sayHead(report.head, out);
  for (const fault of report.faults) {
    const entry = fault.seq === null ? '' : `entry ${fault.seq}, `;
    out.line(`  ${entry}${subjectText(fault)}: ${fault.says}`);
  }
  const more = report.faultCount - report.faults.length;
  if (more > 0) out.line(`  and ${more} more`);
}

function sayHead(head: NonNullable<LedgerReport['head']>, out: Output): void {
  out.line(`  Head of ${head.size} entries: ${head.says}.`);
  for (const { name, keyId } of head.others)
    out.line(`  Also signed by ${name} (key ${keyId}); that key is not known here.`);
}
