import fs from 'node:fs';
import type { INestApplicationContext } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import { type Output, table } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { Day } from '../kinds/fields.js';
import type { Window } from '../lots/family-studies.js';
import { capabilityNoteText, exclusionText, ppkText, signalTexts, takenOutText } from '../report/phrases/capability.js';
import { TREND_LINES } from '../report/phrases/commands/trend.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { limitsText } from '../report/phrases/limits.js';
import { TREND_STATEMENT } from '../report/phrases/trend-statement.js';
import { studyRows, studyTables } from '../report/study-rows.js';
import { Store } from '../store/store.js';
import { CapabilityStating, type StatedCapability } from './capability-stating.js';
import { FamilyTrend, type TrendReport } from './family-trend.js';
import { TrendModule } from './trend.module.js';
import { trendAnswer } from './trend-answer.js';
import { trendCsv } from './trend-csv.js';

export const module = TrendModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  characteristic: string,
  options: { family: string; statement?: string; number?: string; format: string } & Window,
): Promise<number> {
  const { family, statement, number, format, ...window } = options;
  for (const name of ['from', 'to'] as const) requireDay(`--${name}`, window[name]);
  requireNumber(number, statement);
  const found = await context.get(FamilyTrend).trend(characteristic, family, window);
  const stated = statement === undefined ? undefined : await stateTo(statement, context, found, window, number);
  const { text: _, ...named } = stated ?? { text: '' };
  const answer = { ...trendAnswer(found), ...(statement === undefined ? {} : { statement: stated ? named : null }) };
  out.object(answer);
  if (format === 'csv') out.line(trendCsv(found).trimEnd());
  else if (format === 'json') out.line(JSON.stringify(answer, null, 2));
  else sayTrend(found, out);
  if (statement === undefined) return 0;
  if (format !== 'table') return stated ? 0 : NO_INDEX;
  out.line(stated ? TREND_STATEMENT.stated(stated.number, stated.digest, stated.known) : TREND_STATEMENT.noIndex);
  if (stated) out.line(TREND_STATEMENT.written(statement));
  return stated ? 0 : NO_INDEX;
}

/** Where a statement was asked for. */
const NO_INDEX = 4;

/** @throws AppError CONFLICT when the file exists; NotFoundError when no statement has that number. */
async function stateTo(
  file: string,
  context: INestApplicationContext,
  { characteristic: item, family }: TrendReport,
  window: Window,
  number: string | undefined,
): Promise<StatedCapability | undefined> {
  if (fs.existsSync(file)) throw new AppError('CONFLICT', TREND_STATEMENT.exists(file));
  const { characteristic } = item;
  const actor = systemActor();
  const stating = context.get(CapabilityStating);
  const stated =
    number === undefined
      ? await stating.state(characteristic, family, window, actor)
      : await stating.stated(characteristic, family, Number(number));
  if (!stated) return undefined;
  if (!file.toLowerCase().endsWith('.pdf')) fs.writeFileSync(file, stated.text, { flag: 'wx' });
  else {
    // Drawing engine and fonts are loaded only where a paper is asked for.
    const { CapabilityPapers } = await import('../records/capability/capability-papers.js');
    const papers = new CapabilityPapers(context.get(Store));
    const { pdf } = await papers.print(family, characteristic, stated.number, actor);
    fs.writeFileSync(file, pdf, { flag: 'wx' });
  }
  return stated;
}

function sayTrend(report: TrendReport, out: Output): void {
  const { characteristic: item, capability, lots } = report;
  out.line(TREND_LINES.title(item.title, report.family, limitsText(item), item.ucum));
  const number = (value: number | null) => (value === null ? '-' : String(Number(value.toPrecision(5))));
  const rows = lots.map((row) => [
    `  ${row.builtAt.slice(0, 10)}`,
    row.lot,
    row.build,
    String(row.n),
    number(row.mean),
    number(row.min),
    number(row.max),
  ]);
  const [first, ...heads] = TREND_LINES.heads;
  for (const row of table([[`  ${first}`, ...heads], ...rows])) out.line(row);
  const index = capability.ppk === null ? TREND_LINES.noIndex : TREND_LINES.index(ppkText(capability));
  out.line(TREND_LINES.over(capability.n, capability.builds, report.latestLot, index));
  if (report.ofEarlierVersion) out.line(EARLIER_VERSION);
  for (const note of capability.notes) out.line(`  ${capabilityNoteText(note)}`);
  for (const { lots: some, values, why } of capability.excluded) {
    out.line(`  ${TREND_LINES.leftOut(values, some, exclusionText(why))}`);
  }
  if (capability.takenOut.values > 0) out.line(`  ${TREND_LINES.takenOut(takenOutText(capability))}`);
  for (const signal of signalTexts(capability)) out.line(`  ${signal}`);
  if (report.studied === null) return;
  const { input, study } = report.studied;
  out.line('');
  for (const [name, says] of studyRows(input, study)) out.line(`${name}: ${says}`);
  const { signals, trials, split } = studyTables(study);
  for (const { factor, says } of trials) out.line(TREND_LINES.trial(factor, says));
  for (const { factor, name, says } of split) out.line(TREND_LINES.group(factor, name, says));
  for (const { points, says, outcomeSays } of signals) {
    out.line(TREND_LINES.signal(points.at(-1)!, says, outcomeSays));
  }
}

function requireNumber(number: string | undefined, statement: string | undefined): void {
  if (number === undefined || (/^[1-9]\d{0,8}$/.test(number) && statement !== undefined)) return;
  throw new AppError('BAD_INPUT', TREND_STATEMENT.noNumber(number));
}

function requireDay(option: string, day: string | undefined): void {
  if (day === undefined || Day.safeParse(day).success) return;
  throw new AppError('BAD_INPUT', TREND_LINES.noDay(option, day));
}
