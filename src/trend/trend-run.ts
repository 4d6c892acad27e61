import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { capabilityNoteText, exclusionText } from '../report/phrases/capability.js';
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
  out.line(`${item.title} of family ${report.family}, ${limitsText(item)} ${item.ucum}, in build order:`);
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
  for (const row of table([['  built', 'lot', 'build', 'n', 'mean', 'min', 'max'], ...rows])) out.line(row);
  const index =
    capability.ppk === null
      ? 'no index'
      : `Ppk ${number(capability.ppk)}, with ${capability.confidence * 100} % confidence at least ${number(capability.ppkLower)}`;
  out.line(`Over ${capability.n} values of ${capability.builds} builds before lot ${report.latestLot}: ${index}.`);
  if (report.ofEarlierVersion) out.line(EARLIER_VERSION);
  for (const note of capability.notes) out.line(`  ${capabilityNoteText(note)}`);
  for (const { lot, values, why } of capability.excluded) {
    out.line(`  left out: ${values} value(s) of ${lot}, ${exclusionText(why)}`);
  }
}
