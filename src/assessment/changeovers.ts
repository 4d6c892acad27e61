import type { Facts, Recorded } from '../dossier/facts.js';
import type { Changeover } from '../kinds/changeover.js';
import type { Build } from '../kinds/lot.js';
import { isAfter } from './checks/check.js';

/** The alloy that a machine was ready for, and the changeover that made it so; none where it began with it. */
export interface Ready {
  readonly alloy: string;
  readonly by: Recorded<Changeover> | undefined;
}

/** What a machine was ready for when a chamber closed; undefined where neither it nor a changeover says. */
export function readyFor(
  { changeovers, machines }: Pick<Facts, 'changeovers' | 'machines'>,
  { machine, closedAt }: Pick<Build, 'machine' | 'closedAt'>,
): Ready | undefined {
  const last = [...changeovers.values()]
    .filter(({ body }) => body.machine === machine && !isAfter(body.at, closedAt))
    .sort((a, b) => Date.parse(a.body.at) - Date.parse(b.body.at))
    .at(-1);
  if (last) return { alloy: last.body.toAlloy, by: last };
  const [first] = machines.get(machine)?.body.alloys ?? [];
  return first === undefined ? undefined : { alloy: first, by: undefined };
}
