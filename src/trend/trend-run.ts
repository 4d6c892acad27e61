import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { capabilityNoteText, exclusionText, ppkText, signalTexts, takenOutText } from '../report/phrases/capability.js';
import { TREND_LINES } from '../report/phrases/commands/trend.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { limitsText } from '../report/phrases/limits.js';
import { FamilyTrend, type TrendReport } from './family-trend.js';
import { TrendModule } from './trend.module.js';
import { trendAnswer } from './trend-answer.js';

export const module = TrendModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  characteristic: string,
  options: { family: string },
): Promise<number> {
  const found = await context.get(FamilyTrend).trend(characteristic, options.family);
  out.object(trendAnswer(found));
  sayTrend(found, out);
  return 0;
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
}
