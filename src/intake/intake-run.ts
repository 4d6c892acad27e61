import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import type { ScanProgress } from '../process-logs/scan-stream.js';
import { INTAKE_LINES } from '../report/phrases/commands/intake.js';
import { takenLogText } from '../report/phrases/rejected-rows.js';
import { actorFrom } from './command-actor.js';
import { Intake } from './intake.js';
import { IntakeModule } from './intake.module.js';
import type { IntakeReport } from './intake-report.js';

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
  const { documents, results, logs } = report;
  if (process.stderr.isTTY && logs.length > 0) process.stderr.write('\n');
  if (!report.stored) {
    out.line(INTAKE_LINES.checked);
    for (const log of logs) out.line(`  ${takenLogText(log)}`);
    return;
  }
  if (documents.length + results.recorded + logs.length === 0) {
    out.line(INTAKE_LINES.nothingNew);
  }
  for (const { kind, key, revision } of documents) out.line(`  ${INTAKE_LINES.document(kind, key, revision)}`);
  if (results.recorded > 0) out.line(`  ${INTAKE_LINES.results(results.recorded, results.corrections)}`);
  for (const log of logs) out.line(`  ${takenLogText(log)}`);
  for (const file of report.unusedFiles) out.line(`  ${INTAKE_LINES.notKept(file)}`);
}
