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
 * What the shop floor works by on that day: of each document the last revision that was approved and had begun, while it holds.
 * Nothing that is a draft, that another one took the place of, or that is over or was withdrawn for cause: neither brings an
 * earlier one back.
 */
export const deviceFile = (design: DesignIndex): DesignRevision[] =>
  ON_THE_FLOOR.flatMap((kind): OnTheFloor[][] => design.entries(kind))
    .flatMap((revisions) => revisions.filter((one) => hasBegun(one, design)).slice(-1))
    .filter((one) => !one.withdrawn && !isOver(one, design))
    .filter(({ kind, key }) => kind !== 'family' || key === design.family);

function hasBegun({ approvedBy, body }: OnTheFloor, { today }: DesignIndex): boolean {
  if (approvedBy === null) return false;
  if ('validFrom' in body) return dayOf(body.validFrom) <= today;
  return !('effectiveFrom' in body) || dayOf(body.effectiveFrom) <= today;
}

const isOver = ({ body }: OnTheFloor, { today }: DesignIndex): boolean =>
  'validUntil' in body && dayOf(body.validUntil) < today;

const dayOf = (moment: string): string => moment.slice(0, 10);
