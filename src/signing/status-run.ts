import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import type { LotLine } from '../lots/lot-line.js';
import { LotOverview } from '../lots/lot-overview.js';
import { verdictText } from '../report/phrases/codes.js';
import { LOT_LINES } from '../report/phrases/commands/lots.js';
import { decisionAndHoldText } from '../report/phrases/decision.js';
import { awaitingText, EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { earliestText, peopleText } from '../report/phrases/outlook.js';
import { type LotOutlook, LotOutlooks } from './lot-outlook.js';
import { SigningModule } from './signing.module.js';

export const module = SigningModule;

export async function run(context: INestApplicationContext, out: Output, lot?: string): Promise<number> {
  const overview = context.get(LotOverview);
  const lines = lot === undefined ? await overview.list() : [await overview.of(lot)];
  const open = lines.filter(({ closed }) => !closed).map((line) => line.lot);
  const outlooks = await context.get(LotOutlooks).of(open);
  out.object({ lots: lines.map((line) => ({ ...line, outlook: outlooks.get(line.lot) ?? null })) });
  if (lines.length === 0) out.line(LOT_LINES.none);
  for (const line of lines) sayLot(line, outlooks.get(line.lot), out, lot !== undefined);
  const awaiting = awaitingText(lines.filter((line) => line.ofEarlierVersion).length);
  if (awaiting !== '') out.line(LOT_LINES.awaiting(awaiting));
  return 0;
}

function sayLot(line: LotLine, outlook: LotOutlook | undefined, out: Output, whole: boolean): void {
  const record = line.record ? LOT_LINES.record(line.record.number, line.record.revision) : '';
  out.line(LOT_LINES.lot(line.lot, line.neededBy, line.state, record));
  if (line.ofEarlierVersion) out.line(`  ${EARLIER_VERSION}`);
  for (const { entry, says } of line.changedVerdicts) {
    out.line(`  ${LOT_LINES.changed(entry, says)}`);
  }
  if (!whole && line.closed) return;
  if (outlook)
    for (const says of [earliestText(outlook.earliest, line.neededBy), ...peopleText(outlook.people)])
      out.line(`  ${says}`);
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
    out.line(`    ${LOT_LINES.nonconformity(line.lot, blocker.findings)}`);
  }
}
