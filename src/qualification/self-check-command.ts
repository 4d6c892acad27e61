import fs from 'node:fs';
import type { Command } from 'commander';
import { AppError } from '../base/errors.js';
import { exits } from '../cli/exits.js';
import { type Run, systemActor } from '../cli/run.js';
import { selfCheck } from './self-check.js';

/** Whoever accepts a version of the program tries it first. */
export function addSelfCheckCommand(program: Command, run: Run): void {
  exits(program.command('self-check'), { 6: 'something does not hold' })
    .option('--out <file>', 'where the signed report goes, as evidence for the acceptance of this version')
    .description('tries the installed program: published numbers, a scenario, attacks on it, a backup and its restore')
    .action((options: { out?: string }) =>
      run(async ({ store }, out) => {
        const { report, text, ...rest } = await selfCheck(store, systemActor());
        if (options.out !== undefined) writeNew(options.out, text);
        out.object({ ...rest, ...report });
        out.line(`${report.program} on Node ${report.node}, ${report.system}`);
        for (const { group, name, ok, expected, found } of report.items) {
          out.line(
            `  ${ok ? 'holds ' : 'FAILED'}  ${group}: ${name}${ok ? '' : `: expected ${expected}, found ${found}`}`,
          );
        }
        out.line(`${report.passed ? 'Everything holds' : 'NOT everything holds'}. Report ${rest.sha256}.`);
        out.line(`Acceptance: ${rest.accepted}.`);
        return report.passed ? 0 : 6;
      }),
    );
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
