import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import type { ScanProgress } from '../process-logs/scan-stream.js';
import { INTAKE_LINES } from '../report/phrases/commands/intake.js';
import { actorFrom } from './command-actor.js';
import { Intake } from './intake.js';
import { IntakeModule } from './intake.module.js';
import type { IntakeReport } from './intake-report.js';
import { intakeWords } from './intake-words.js';

export const module = IntakeModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  folder: string,
  options: { check?: boolean; person?: string; passwordStdin?: boolean },
): Promise<number> {
  const progress = (file: string, { rows, doneBytes, totalBytes }: ScanProgress) => {
    if (!process.stderr.isTTY || out.json) return;
    const percent = totalBytes > 0 ? Math.floor((100 * doneBytes) / totalBytes) : 100;
    process.stderr.write(`\r${INTAKE_LINES.progress(file, percent, rows)}`);
  };
  const report = await context
    .get(Intake)
    .run(folder, await actorFrom(context, options), { check: options.check === true, onProgress: progress });
  out.object(report);
  sayIntake(report, out);
  return 0;
}

function sayIntake(report: IntakeReport, out: Output): void {
  if (process.stderr.isTTY && report.logs.length > 0) process.stderr.write('\n');
  const { says, documents, results, logs, notKept } = intakeWords(report);
  if (says !== null) out.line(says);
  for (const line of [...documents, ...results, ...logs, ...(report.stored ? notKept : [])]) out.line(`  ${line}`);
}
