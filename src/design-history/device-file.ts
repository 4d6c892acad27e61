import type { KindName } from '../kinds/catalogue.js';
import type { DesignRevision } from './design-facts.js';
import type { DesignIndex } from './design-index.js';

/** Kinds by which the shop floor builds, tests, labels and programs. */
const ON_THE_FLOOR = [
  'family',
  'design-envelope',
  'specification',
  'recipe',
  'method',
  'process-validation',
  'labelling-decision',
  'software',
] as const satisfies KindName[];

type OnTheFloor = DesignRevision<(typeof ON_THE_FLOOR)[number]>;

/**
 * What the shop floor works by on that day: of each document the last revision that was approved and is in effect. Nothing
 * that is a draft, that another one took the place of, or that was withdrawn for cause, which brings no earlier one back.
 */
export const deviceFile = (design: DesignIndex): DesignRevision[] =>
  ON_THE_FLOOR.flatMap((kind): OnTheFloor[][] => design.entries(kind))
    .flatMap((revisions) => revisions.filter((one) => isInEffect(one, design)).slice(-1))
    .filter(({ withdrawn }) => !withdrawn)
    .filter(({ kind, key }) => kind !== 'family' || key === design.family);

function isInEffect({ approvedBy, body }: OnTheFloor, { today }: DesignIndex): boolean {
  if (approvedBy === null) return false;
  if ('validFrom' in body) return dayOf(body.validFrom) <= today && today <= dayOf(body.validUntil);
  return !('effectiveFrom' in body) || dayOf(body.effectiveFrom) <= today;
}

const dayOf = (moment: string): string => moment.slice(0, 10);
