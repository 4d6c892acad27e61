import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { RETENTION_LINES } from '../report/phrases/commands/custody.js';
import { latestRetention, type Retention } from '../report/retention.js';
import { Store } from '../store/store.js';
import { retentionOfAll, retentionOfLot } from './lot-retention.js';

export async function run(context: INestApplicationContext, out: Output, lot?: string): Promise<number> {
  const { read } = context.get(Store);
  if (lot === undefined) return sayAllRetentions(read, out);
  const retention = await retentionOfLot(read, lot);
  out.object({ lot, ...retention });
  out.line(retentionText(RETENTION_LINES.lot(lot), retention));
  for (const { rule, until, applies, says, source } of retention.rules) {
    out.line(`  ${RETENTION_LINES.rule(rule, applies ? until : null, says, source)}`);
  }
  return 0;
}

async function sayAllRetentions(read: Store['read'], out: Output): Promise<number> {
  const all = await retentionOfAll(read);
  const lots = [...all].map(([lot, retention]) => ({ lot, ...retention }));
  const trail = latestRetention([...all.values()]);
  out.object({ lots, auditTrail: trail ?? null });
  if (lots.length > 0) {
    for (const row of table(lots.map(({ lot, until, rule }) => [lot, until ?? RETENTION_LINES.noEnd, rule])))
      out.line(row);
  }
  if (trail) out.line(retentionText(RETENTION_LINES.trail, trail));
  return 0;
}

const retentionText = (what: string, { until, rule }: Retention): string => RETENTION_LINES.kept(what, until, rule);
