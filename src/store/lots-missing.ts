import { firstClosing } from './plans-in-force.js';
import type { Reads } from './repositories.js';

/**
 * Lots of a family that were built on some days and of which the history knows no value of a characteristic. One that is
 * only planned is missed by nobody.
 * @param days of closing, both included.
 */
export async function lotsMissing(
  { histories, entries }: Pick<Reads, 'histories' | 'entries'>,
  family: string,
  characteristic: string,
  days: { readonly from: string; readonly to: string },
): Promise<{ readonly lot: string; readonly builtAt: string }[]> {
  const found: { lot: string; builtAt: string }[] = [];
  for (const lot of await histories.lotsWithout(family, characteristic)) {
    const body = (await entries.current('lot', lot))?.body;
    if (body?.family !== family || !body.builds.some(({ state }) => state !== 'planned')) continue;
    const builtAt = new Date(firstClosing(body)).toISOString();
    const day = builtAt.slice(0, 10);
    if (day >= days.from && day <= days.to) found.push({ lot, builtAt });
  }
  return found;
}
