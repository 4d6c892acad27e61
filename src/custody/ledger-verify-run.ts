import fs from 'node:fs';
import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf } from '../cli/run.js';
import { type Note, parseHead } from '../ledger/checkpoint.js';
import { LEDGER_LINES } from '../report/phrases/commands/custody.js';
import { INSTALLATION_WORD } from '../report/phrases/installation-word.js';
import { trailSubjectText } from '../report/phrases/kinds.js';
import { storedFaultText } from '../report/phrases/stored-faults.js';
import { AnchorFile } from '../store/anchor-file.js';
import { ENGINE } from '../store/chosen-engine.js';
import { DataFolder } from '../store/data-folder.js';
import { KeptFiles } from '../store/kept-files.js';
import type { LedgerReport } from '../store/ledger-report.js';

interface VerifyOptions {
  readonly evidence?: boolean;
  readonly head?: string;
  readonly headFile?: string;
}

export async function run(out: Output, common: CommonOptions, options: VerifyOptions): Promise<number> {
  const head = keptHead(options);
  const folder = DataFolder.existing(dataFolderOf(common));
  // Without opening the store, which would refuse a folder whose guards somebody removed.
  const files = options.evidence ? new KeptFiles(folder) : undefined;
  const report = await ENGINE.auditFolder(folder, { head, files, anchor: AnchorFile.beside(folder.path) });
  out.object(inWords(report));
  sayReport(report, out);
  return report.ok ? 0 : 6;
}

function keptHead({ head, headFile }: VerifyOptions): Note | undefined {
  if (headFile === undefined) return head === undefined ? undefined : parseHead(head);
  return parseHead(readText(headFile));
}

function readText(file: string): string {
  try {
    if (fs.statSync(file).size > MOST.headBytes) throw new RangeError('too long');
    return new TextDecoder('utf-8', { fatal: true }).decode(fs.readFileSync(file));
  } catch (error) {
    throw new BadInputError([
      {
        code: 'head-file',
        field: '--head-file',
        found: `${file} (${error instanceof RangeError ? `more than ${MOST.headBytes} bytes` : ((error as NodeJS.ErrnoException).code ?? 'not UTF-8')})`,
        expected: 'a text file with a head of the audit trail',
        remedy: 'name the file into which "ledger head" was written',
      },
    ]);
  }
}

/** The report as programs get it: words beside codes and facts. */
function inWords(report: LedgerReport) {
  const { faults, head } = report;
  return {
    ...report,
    ...(report.ok ? { byInstallationAlone: INSTALLATION_WORD.trail } : { reason: storedFaultText(report.reason) }),
    faults: faults.map(({ fault, ...subject }) => ({ ...subject, ...fault, says: storedFaultText(fault) })),
    head: head && { ...head, says: storedFaultText(head.found) },
  };
}

function sayReport(report: LedgerReport, out: Output): void {
  if (report.ok) {
    out.line(LEDGER_LINES.holds(report.size, report.root));
    out.line(`  ${LEDGER_LINES.rows(report.rows)}`);
  } else {
    out.line(LEDGER_LINES.doesNotHold(storedFaultText(report.reason)));
  }
  if (report.laterTypes) out.line(`  ${LEDGER_LINES.laterTypes(report.laterTypes)}`);
  if (report.files !== null) out.line(`  ${LEDGER_LINES.files(report.files)}`);
  if (report.head) sayHead(report.head, out);
  for (const fault of report.faults) {
    out.line(`  ${LEDGER_LINES.fault(fault.seq, trailSubjectText(fault), storedFaultText(fault.fault))}`);
  }
  const more = report.faultCount - report.faults.length;
  if (more > 0) out.line(`  ${LEDGER_LINES.more(more)}`);
  if (report.ok) for (const one of [INSTALLATION_WORD.head, ...INSTALLATION_WORD.trail.map(indented)]) out.line(one);
}

const indented = (text: string): string => `  ${text}`;

function sayHead(head: NonNullable<LedgerReport['head']>, out: Output): void {
  out.line(`  ${LEDGER_LINES.head(head.size, storedFaultText(head.found))}`);
  for (const { name, keyId } of head.others) out.line(`  ${LEDGER_LINES.cosigner(name, keyId)}`);
}
