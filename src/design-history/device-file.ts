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

/**
 * What the shop floor works by on that day: of each document the last revision that was approved and is in effect. Nothing
 * that is a draft, that another one took the place of, or that was withdrawn for cause, which brings no earlier one back.
 */
export const deviceFile = (design: DesignIndex): DesignRevision[] =>
  ON_THE_FLOOR.flatMap((kind) => design.entries(kind) as DesignRevision[][])
    .flatMap((revisions) => revisions.filter((one) => isInEffect(one, design)).slice(-1))
    .filter(({ withdrawn }) => !withdrawn)
    .filter(({ kind, key }) => kind !== 'family' || key === design.family);

function isInEffect({ approvedBy, body }: DesignRevision, { today }: DesignIndex): boolean {
  const { effectiveFrom, validFrom, validUntil } = body as Partial<Record<string, string>>;
  const from = (effectiveFrom ?? validFrom)?.slice(0, 10) ?? today;
  const until = validUntil?.slice(0, 10) ?? today;
  return approvedBy !== null && from <= today && today <= until;
}
