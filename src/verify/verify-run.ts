import { type Output, table } from '../cli/output.js';
import type { CommonOptions } from '../cli/run.js';
import { answerText, VERIFY_LINES, VERIFY_OUTCOMES } from '../report/phrases/commands/verify.js';
import { ANSWERS } from './answer.js';
import { reportInWords } from './report.js';
import { verifyRecord } from './verify-record.js';

export async function run(
  out: Output,
  _common: CommonOptions,
  file: string,
  options: { key?: string; people?: string; evidence?: string; with?: string; anchor?: string; authority?: string },
): Promise<number> {
  const found = reportInWords(await verifyRecord(file, options));
  out.object(found);
  sayVerify(found, out);
  return ANSWERS[found.answer];
}

/** The answer first, then what people decided, then what was looked at. Nothing that was altered is repeated. */
function sayVerify({ answer, record, units, steps }: ReturnType<typeof reportInWords>, out: Output): void {
  out.line(answerText(answer, record?.draft ?? false));
  if (record) out.line(VERIFY_LINES.record(record));
  if (answer !== 'altered') for (const unit of units) out.line(VERIFY_LINES.unit(unit));
  for (const row of table(steps.map((step) => [`  ${step.step}`, VERIFY_OUTCOMES[step.outcome], step.says])))
    out.line(row);
}
