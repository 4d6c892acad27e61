import { capabilityRows } from '../report/capability-rows.js';
import type { RecordView } from './record-view.js';
import { beforeOf, familyLines } from './sections/statistics.js';

/** What page and chart of the family rest on, every line of every characteristic, as plain text. */
export function familyInWords(
  view: Pick<RecordView, 'facts' | 'assessment'> & {
    readonly enclosure: Pick<RecordView['enclosure'], 'forCase' | 'familyBefore'>;
  },
): string {
  const before = beforeOf(view);
  const blocks = familyLines(view).map(({ item, capability }) => {
    const rows = capabilityRows(item, capability, before).map(([name, says]) => `  ${name}: ${says}\n`);
    return `${item.title}\n${rows.join('')}`;
  });
  return blocks.join('\n');
}
