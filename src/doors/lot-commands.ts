import { type Command, Option } from 'commander';
import type { Assessment } from '../assessment/assessment.js';
import { answerFor, MOMENTS, type Moment, type MomentAnswer } from '../assessment/moments.js';
import { exits } from '../cli/exits.js';
import { type Output, table } from '../cli/output.js';
import { type Run, systemActor } from '../cli/run.js';
import { timeText } from '../dossier/time-text.js';
import type { IntakeReport, LogLine } from '../intake/intake.js';
import type { LotLine } from '../lots/lot-overview.js';
import type { ScanProgress } from '../process-logs/scan-stream.js';
import { addRecordCommand } from '../records/record-command.js';
import { verdictCounts } from '../records/record-view.js';
import { checkInWords, checkTitle, reasonsInWords, reasonWords } from '../report/assessment-words.js';
import { awaitingText, EARLIER_VERSION } from '../report/phrases/earlier-version.js';

/** Commands that take lots in, assess them and write their records. */
export function addLotCommands(program: Command, run: Run): void {
  exits(program.command('intake'))
    .argument('<folder>', 'a site folder, a lot folder, or a folder that holds both')
    .option('--check', 'read and check everything, store nothing')
    .description('takes documents, results and logs into the data folder')
    .action((folder: string, options: { check?: boolean }) =>
      run(async ({ intake }, out) => {
        const progress = (file: string, { rows, doneBytes, totalBytes }: ScanProgress) => {
          if (!process.stderr.isTTY || out.json) return;
          const percent = totalBytes > 0 ? Math.floor((100 * doneBytes) / totalBytes) : 100;
          process.stderr.write(`\r${file}: ${percent} %, ${rows} rows read `);
        };
        const report = await intake.run(folder, systemActor(), { check: options.check === true, onProgress: progress });
        out.object(report);
        sayIntake(report, out);
        return 0;
      }),
    );

  exits(program.command('status'), { 7: 'no such lot' })
    .argument('[lot]', 'one lot; all of them when absent')
    .description('lots, their implants, and what still blocks each')
    .action((lot: string | undefined) =>
      run(async ({ overview }, out) => {
        const lines = lot === undefined ? await overview.list() : [await overview.of(lot)];
        out.object({ lots: lines });
        if (lines.length === 0) out.line('No lot yet. Take one in: lotwright intake FOLDER');
        for (const line of lines) sayLot(line, out, lot !== undefined);
        const awaiting = awaitingText(lines.filter((line) => line.ofEarlierVersion).length);
        if (awaiting !== '') out.line(`${awaiting} A service does it when it starts; here: lotwright assess LOT`);
        return 0;
      }),
    );

  exits(program.command('assess'), {
    0: 'every implant conforms',
    3: 'one does not conform',
    4: 'one cannot be decided',
    7: 'no such lot',
  })
    .argument('<lot>')
    .addOption(
      new Option('--for <moment>', 'only what can be asked by then: may we build, may we sterilise, may we release?')
        .choices(MOMENTS)
        .default('release'),
    )
    .description('freezes the lot, runs checks and statistics, proposes an outcome for each implant')
    .action((lot: string, options: { for: Moment }) =>
      run(async ({ assessor }, out) => {
        const { facts, assessment, dossierSha256 } = await assessor.assess(lot, systemActor());
        const { moment, units, releasable, why, checks } = answerFor(facts, assessment, options.for);
        const inWords = (reasons: (typeof why)[string]) => reasonsInWords(checks, reasons);
        out.object({
          lot,
          for: moment,
          dossier: dossierSha256,
          units: units.map((unit) => ({ ...unit, why: inWords(unit.why) })),
          releasable,
          why: Object.fromEntries(Object.entries(why).map(([serial, reasons]) => [serial, inWords(reasons)])),
          checks: checks.map(checkInWords),
        });
        sayAnswer(lot, { moment, units, releasable, why, checks }, out);
        return assessmentExit({ units: [...units] });
      }),
    );

  addRecordCommand(program, run);
}

/** 3 when an implant does not conform, else 4 when one cannot be decided. */
export function assessmentExit({ units }: Pick<Assessment, 'units'>): number {
  if (units.some((unit) => unit.verdict === 'does not conform')) return 3;
  return units.some((unit) => unit.verdict === 'cannot be decided') ? 4 : 0;
}

function sayIntake(report: IntakeReport, out: Output): void {
  const { documents, results, logs } = report;
  if (process.stderr.isTTY && logs.length > 0) process.stderr.write('\n');
  if (!report.stored) {
    out.line('Checked: nothing is wrong. Nothing was stored.');
    for (const log of logs) out.line(logText(log));
    return;
  }
  if (documents.length + results.recorded + logs.length === 0) {
    out.line('Nothing new: everything in this folder is in the data folder already.');
  }
  for (const { kind, key, revision } of documents) out.line(`  ${kind} ${key}, revision ${revision}`);
  if (results.recorded > 0) out.line(`  ${results.recorded} results, ${results.corrections} of them corrections`);
  for (const log of logs) out.line(logText(log));
  for (const file of report.unusedFiles) out.line(`  not kept, no document names it: ${file}`);
}

function logText({ build, rows, rejected, firstRejected: first, findings }: LogLine): string {
  const counts = Object.entries(rejected).map(([code, count]) => `${count} for ${code}`);
  const where = first && `; the first is line ${first.line}${first.file ? ` of ${first.file}` : ''}: ${first.found}`;
  const lost = first === null ? '' : `, rejected ${counts.join(', ')}${where}`;
  return `  log of ${build}: ${rows} rows${lost}, ${findings} finding(s)`;
}

function sayLot(line: LotLine, out: Output, whole: boolean): void {
  const record = line.record ? `, record ${line.record.number} revision ${line.record.revision}` : '';
  out.line(`${line.lot}  needed by ${line.neededBy ?? 'nobody'}  ${line.state}${record}`);
  if (line.ofEarlierVersion) out.line(`  ${EARLIER_VERSION}`);
  if (!whole && line.closed) return;
  if (line.outOfDate) out.line('  facts came in since it was assessed: lotwright assess');
  for (const row of table(line.units.map((unit) => [`  ${unit.serial}`, unit.case, unit.verdict, decisionText(unit)])))
    out.line(row);
  for (const blocker of line.blockers) {
    out.line(`  ${blocker.units.join(', ')}: ${blocker.says}`);
    out.line(`    ${blocker.clearedBy}`);
  }
}

const decisionText = ({ decision, hold }: LotLine['units'][number]): string =>
  `${decision === 'open' ? 'not decided' : decision}${hold === null ? '' : `, on hold: ${hold}`}`;

const ASKED: Readonly<Record<Moment, string>> = {
  build: 'May we build?',
  sterilisation: 'May we sterilise?',
  release: 'May we release?',
};

function sayAnswer(lot: string, answer: MomentAnswer, out: Output): void {
  const { moment, units, releasable, checks } = answer;
  out.line(`Lot ${lot}: ${verdictCounts(units.map((unit) => unit.verdict))} (proposed; people decide).`);
  out.line(
    `${ASKED[moment]} Nothing holds back ${releasable.length} of ${units.length}: ${releasable.join(', ') || 'none'}.`,
  );
  const wordsOf = reasonWords(checks);
  for (const unit of units) {
    out.line(`  ${unit.serial}: ${unit.verdict}`);
    for (const { characteristic, until } of unit.open) out.line(`    ${characteristic} open until ${timeText(until)}`);
    for (const why of unit.why) {
      const { says, clearedBy } = wordsOf(why);
      out.line(`    ${says}`);
      out.line(`      ${clearedBy}`);
    }
  }
  for (const row of table(checks.map((check) => [`  ${checkTitle(check.code)}`, check.outcome]))) out.line(row);
}
