import { AppError } from '../../base/errors.js';
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

/**
 * In place of all of them one line, while the thread that walks designs does not answer: many wait for it, or the program was
 * replaced while it runs. What else there is to do today is told all the same.
 * @throws whatever is not of that kind.
 */
export function designsNotKnown(error: unknown): Duty[] {
  if (!(error instanceof AppError && error.code === 'BUSY')) throw error;
  const button = { text: TODAY.seeDesigns, href: '/families' };
  return [{ topic: 'wrong', what: TODAY.designsNotKnown, of: null, units: [], by: null, overdue: false, button }];
}
