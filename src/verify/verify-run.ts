import { type Output, table } from '../cli/output.js';
import type { CommonOptions } from '../cli/run.js';
import { VERIFY_LINES, VERIFY_OUTCOMES, VERIFY_VERDICTS } from '../report/phrases/commands/verify.js';
import { reportInWords } from './report.js';
import { verifyRecord } from './verify-record.js';

export async function run(
  out: Output,
  _common: CommonOptions,
  file: string,
  options: { key?: string; evidence?: string; with?: string },
): Promise<number> {
  const found = reportInWords(await verifyRecord(file, options));
  out.object(found);
  sayVerify(found, out);
  return { unaltered: 0, altered: 6, 'assesses differently': 8, 'of a later version': 8 }[found.verdict];
}

function sayVerify(report: ReturnType<typeof reportInWords>, out: Output): void {
  const { record } = report;
  if (record) out.line(VERIFY_LINES.record(record.number, record.revision));
  for (const row of table(report.steps.map((step) => [`  ${step.step}`, VERIFY_OUTCOMES[step.outcome], step.says])))
    out.line(row);
  for (const { serial, verdict, now } of report.units) out.line(VERIFY_LINES.unit(serial, verdict, now));
  out.line(VERIFY_VERDICTS[report.verdict]);
}
