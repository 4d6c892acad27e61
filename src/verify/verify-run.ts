import { type Output, table } from '../cli/output.js';
import type { CommonOptions } from '../cli/run.js';
import type { VerifyReport } from './report.js';
import { verifyRecord } from './verify-record.js';

export async function run(
  out: Output,
  _common: CommonOptions,
  file: string,
  options: { key?: string; evidence?: string; with?: string },
): Promise<number> {
  const found = await verifyRecord(file, options);
  out.object(found);
  sayVerify(found, out);
  return { unaltered: 0, altered: 6, 'assesses differently': 8 }[found.verdict];
}

function sayVerify(report: VerifyReport, out: Output): void {
  const { record } = report;
  if (record) out.line(`Record ${record.number}, revision ${record.revision}`);
  for (const row of table(report.steps.map((step) => [`  ${step.step}`, step.outcome, step.says]))) out.line(row);
  for (const unit of report.units) {
    out.line(`  ${unit.serial}: ${unit.verdict}${unit.now === undefined ? '' : `; this version: ${unit.now}`}`);
  }
  const said = {
    unaltered: 'Unaltered, as far as the file can show. That is not the same as true, complete or released.',
    altered: 'ALTERED: do not rely on this file.',
    'assesses differently': 'Unaltered, but this version of the program assesses differently: both are shown above.',
  };
  out.line(said[report.verdict]);
}
