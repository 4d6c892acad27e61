import fs from 'node:fs';
import type { INestApplicationContext } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { SELF_CHECK_LINES } from '../report/phrases/commands/qualification.js';
import { Store } from '../store/store.js';
import { selfCheck } from './self-check.js';

export async function run(context: INestApplicationContext, out: Output, options: { out?: string }): Promise<number> {
  const { report, text, ...rest } = await selfCheck(context.get(Store), systemActor());
  if (options.out !== undefined) writeNew(options.out, text);
  out.object({ ...rest, ...report });
  out.line(SELF_CHECK_LINES.program(report.program, report.node, report.system));
  for (const { group, name, ok, expected, found } of report.items) {
    out.line(ok ? SELF_CHECK_LINES.held(group, name) : SELF_CHECK_LINES.failed(group, name, expected, found));
  }
  out.line(SELF_CHECK_LINES.report(report.passed, rest.sha256));
  out.line(SELF_CHECK_LINES.acceptance(rest.accepted));
  return report.passed ? 0 : 6;
}

function writeNew(file: string, text: string): void {
  try {
    fs.writeFileSync(file, text, { flag: 'wx' });
  } catch (error) {
    throw new AppError(
      'CONFLICT',
      `${file} cannot be written: ${(error as Error).message}; the report is kept all the same`,
    );
  }
}
