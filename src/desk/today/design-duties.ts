import type { DesignAnswers } from '../../design-file/design-answers.js';
import { designAddress } from '../../report/page-addresses.js';
import { TODAY } from '../../report/phrases/today.js';
import type { Duty } from './duty.js';

/**
 * Open gaps in the design of each family of which something is written down: in one line how many each person owns, and a
 * line for each that is due or ends on a day.
 */
export async function designDuties(designs: DesignAnswers): Promise<Duty[]> {
  const duties: Duty[] = [];
  for (const family of await designs.families()) {
    const { today, gaps: open } = await designs.ask('openGaps', { family });
    const line = (what: string, by: string | null): Duty => ({
      topic: 'wrong',
      what,
      of: { text: family, href: designAddress(family) },
      units: [],
      by,
      overdue: by !== null && by < today,
      button: { text: TODAY.seeDesign, href: designAddress(family) },
    });
    const owners = new Map<string | null, number>();
    for (const gap of open) {
      if (gap.by !== null) duties.push(line(TODAY.designGap(family, gap.says, gap.owners), gap.by));
      else {
        // One that several people own is told under the first of them, so that the numbers add up.
        const owner = gap.owners[0] ?? null;
        owners.set(owner, (owners.get(owner) ?? 0) + 1);
      }
    }
    const byOwner = [...owners].map(([owner, gaps]) => ({ owner, gaps }));
    if (byOwner.length > 0) duties.push(line(TODAY.designGaps(family, byOwner), null));
  }
  return duties;
}
