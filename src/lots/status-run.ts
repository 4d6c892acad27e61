import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { verdictText } from '../report/phrases/codes.js';
import { LOT_LINES } from '../report/phrases/commands/lots.js';
import { decisionAndHoldText } from '../report/phrases/decision.js';
import { awaitingText, EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { type LotLine, LotOverview } from './lot-overview.js';
import { LotsModule } from './lots.module.js';

export const module = LotsModule;

export async function run(context: INestApplicationContext, out: Output, lot?: string): Promise<number> {
  const overview = context.get(LotOverview);
  const lines = lot === undefined ? await overview.list() : [await overview.of(lot)];
  out.object({ lots: lines });
  if (lines.length === 0) out.line(LOT_LINES.none);
  for (const line of lines) sayLot(line, out, lot !== undefined);
  const awaiting = awaitingText(lines.filter((line) => line.ofEarlierVersion).length);
  if (awaiting !== '') out.line(LOT_LINES.awaiting(awaiting));
  return 0;
}

function sayLot(line: LotLine, out: Output, whole: boolean): void {
  const record = line.record ? LOT_LINES.record(line.record.number, line.record.revision) : '';
  out.line(LOT_LINES.lot(line.lot, line.neededBy, line.state, record));
  if (line.ofEarlierVersion) out.line(`  ${EARLIER_VERSION}`);
  for (const { entry, says } of line.changedVerdicts) {
    out.line(`  ${LOT_LINES.changed(entry, says)}`);
  }
  if (!whole && line.closed) return;
  if (line.outOfDate) out.line(`  ${LOT_LINES.outOfDate}`);
  for (const row of table(
    line.units.map((unit) => [
      `  ${unit.serial}`,
      unit.case,
      verdictText(unit.verdict),
      decisionAndHoldText(unit, unit.hold),
    ]),
  ))
    out.line(row);
  for (const blocker of line.blockers) {
    out.line(`  ${LOT_LINES.blocker(blocker.units, blocker.says)}`);
    out.line(`    ${blocker.clearedBy}`);
  }
}
