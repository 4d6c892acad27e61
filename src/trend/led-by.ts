import type { ChangeLine } from '../assessment/family/study-result.js';
import { designChangeAddress } from '../report/page-addresses.js';
import { CHANGE_FORM } from '../report/phrases/design-changes.js';
import type { LedBy } from '../report/study-figures.js';
import type { Reads } from '../store/repositories.js';

/** Changes of a chart that a design change leads to: those of documents that have revisions. */
const OF_DESIGN: ReadonlySet<string> = new Set(['recipe', 'method'] satisfies ChangeLine['what'][]);

/** Which design change led to each revision at which a chart changes: the last one that names it. */
export async function ledByIn(read: Reads, changes: readonly ChangeLine[]): Promise<LedBy> {
  const found = new Map<string, ReturnType<LedBy>>();
  for (const { what, to } of changes.filter((change) => OF_DESIGN.has(change.what))) {
    const key = to.slice(0, to.lastIndexOf(' '));
    for (const { body } of await read.entries.tiedTo('design-change', what, key, 'leads to')) {
      const leads = body.leadsTo?.some((one) => one.kind === what && `${one.key} ${one.revision}` === to);
      if (!leads || body.decision === 'stop') continue;
      const { family, change } = body;
      found.set(`${what} ${to}`, { to: designChangeAddress(family, change), label: CHANGE_FORM.led(change) });
    }
  }
  return ({ what, to }) => found.get(`${what} ${to}`);
}
