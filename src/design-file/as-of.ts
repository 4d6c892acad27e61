import { AppError } from '../base/errors.js';
import { Day, Moment } from '../kinds/fields.js';
import { DESIGN_LINES } from '../report/phrases/commands/design.js';
import type { Store } from '../store/store.js';

/** The moment as of which something is asked: what was on record then counts, and nothing later. */
export interface AsOf {
  /** How many entries the audit trail had then. */
  readonly size: number;
  /** Milliseconds of it. */
  readonly moment: number;
  /** Its day, `2031-05-04`, UTC. */
  readonly day: string;
}

const dayOf = (moment: number): string => new Date(moment).toISOString().slice(0, 10);

export async function nowAsOf({ read, clock }: Store): Promise<AsOf> {
  const moment = clock.now().getTime();
  return { size: await read.ledger.size(), moment, day: dayOf(moment) };
}

const LAST_OF_DAY = 'T23:59:59.999Z';

/**
 * @param text a day, to its end (UTC), or a moment with its offset.
 * @throws AppError BAD_INPUT for anything else, and for what lies ahead.
 */
export async function readAsOf(text: string, { read, clock }: Store): Promise<AsOf> {
  const isDay = Day.safeParse(text).success;
  if (!isDay && !Moment.safeParse(text).success) throw new AppError('BAD_INPUT', DESIGN_LINES.noTime(text));
  const now = clock.now();
  const asked = Date.parse(isDay ? `${text}${LAST_OF_DAY}` : text);
  const isToday = isDay && text === now.toISOString().slice(0, 10);
  if (asked > now.getTime() && !isToday) throw new AppError('BAD_INPUT', DESIGN_LINES.ahead(text));
  const moment = Math.min(asked, now.getTime());
  return { size: await read.ledger.sizeAt(new Date(moment).toISOString()), moment, day: dayOf(moment) };
}
