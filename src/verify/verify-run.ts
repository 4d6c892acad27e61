import { ZodError } from 'zod';
import { AppError } from '../base/errors.js';
import { type Output, table } from '../cli/output.js';
import type { CommonOptions } from '../cli/run.js';
import { answerText, VERIFY_LINES, VERIFY_OUTCOMES } from '../report/phrases/commands/verify.js';
import { INSTALLATION_WORD } from '../report/phrases/installation-word.js';
import { TREND_STATEMENT } from '../report/phrases/trend-statement.js';
import { ANSWERS } from './answer.js';
import { reportInWords, type VerifyReport } from './report.js';
import { verifyRecord } from './verify-record.js';
import { isStatement, type StatementReport, verifyStatement } from './verify-statement.js';

export async function run(
  out: Output,
  _common: CommonOptions,
  file: string,
  options: { key?: string; people?: string; evidence?: string; with?: string; anchor?: string; authority?: string },
): Promise<number> {
  if (isStatement(file)) return sayStatement(readStatement(file), out);
  const found = reportInWords(await verifyRecord(file, options));
  out.object({ ...found, byInstallationAlone: byInstallationAlone(found) });
  sayVerify(found, out);
  return ANSWERS[found.answer];
}

/** @throws AppError BAD_INPUT for JSON that is no statement. */
function readStatement(file: string): StatementReport {
  try {
    return verifyStatement(file);
  } catch (error) {
    if (error instanceof SyntaxError || error instanceof ZodError) {
      throw new AppError('BAD_INPUT', VERIFY_LINES.noStatement(file));
    }
    throw error;
  }
}

function sayStatement(report: StatementReport, out: Output): number {
  out.object(report);
  const { answer, statement, difference, sha256 } = report;
  if (answer === 'holds') {
    out.line(TREND_STATEMENT.holds(statement.number, statement.family, statement.characteristic));
  } else if (difference === null) {
    out.line(TREND_STATEMENT.notCanonical);
  } else {
    const { place, attached, again } = difference;
    out.line(
      answer === 'altered'
        ? TREND_STATEMENT.altered(place, attached, again)
        : TREND_STATEMENT.otherVersion(statement.program, place, attached, again),
    );
  }
  out.line(TREND_STATEMENT.digest(sha256));
  return STATEMENT_EXITS[answer];
}

const STATEMENT_EXITS = { holds: 0, altered: 6, 'another version': 8 } as const;

/** The answer first, then what people decided, then what was looked at. Nothing that was altered is repeated. */
function sayVerify(found: ReturnType<typeof reportInWords>, out: Output): void {
  const { answer, record, statement, paper, units, steps } = found;
  out.line(answerText(answer, (record ?? statement)?.draft ?? false));
  if (statement) out.line(VERIFY_LINES.statement(statement));
  if (answer !== 'altered') for (const says of statement?.since ?? []) out.line(`  ${says}`);
  if (record) out.line(VERIFY_LINES.record(record));
  if (paper) out.line(VERIFY_LINES.paper(paper));
  if (answer !== 'altered') for (const unit of units) out.line(VERIFY_LINES.unit(unit));
  for (const row of table(steps.map((step) => [`  ${step.step}`, VERIFY_OUTCOMES[step.outcome], step.says])))
    out.line(row);
  const alone = byInstallationAlone(found);
  if (alone.length > 0) out.line(INSTALLATION_WORD.head);
  for (const one of alone) out.line(`  ${one}`);
}

/** Nothing of a file that was altered, or is none of ours, rests on anybody's word. */
function byInstallationAlone({
  answer,
  record,
  statement,
  paper,
}: Pick<VerifyReport, 'answer' | 'record' | 'statement' | 'paper'>): readonly string[] {
  if (answer === 'altered') return [];
  if (record) return INSTALLATION_WORD.record;
  return statement || paper ? INSTALLATION_WORD.paper : [];
}
