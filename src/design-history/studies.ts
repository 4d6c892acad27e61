import type { DesignStudy } from '../kinds/design-history/design-study.js';
import type { EntryRef } from '../kinds/references.js';
import type { DesignRevision } from './design-facts.js';
import type { DesignIndex } from './design-index.js';

type Study = DesignRevision<'design-study'>;

export const isMet = ({ body }: Study): boolean => body.result === 'met';

export const isMetStudy = (design: DesignIndex, code: string): boolean => {
  const found = design.latest({ kind: 'design-study', key: code }) as Study | undefined;
  return found !== undefined && !found.withdrawn && isMet(found);
};

/** Studies that are there, though none of them shows it. */
export const triedBy = (studies: readonly Study[]): Readonly<Record<string, string>> => ({
  studies: studies.map(({ key, body }) => `${key} (${body.result})`).join(', '),
});

/** Studies that verify an input, or an output that answers it. */
export const verifying = (design: DesignIndex, input: EntryRef): Study[] => [
  ...new Set([
    ...design.naming('design-study', 'verifies', input),
    ...design
      .naming('design-output', 'meets', input)
      .flatMap((output) => design.naming('design-study', 'verifies', output)),
  ]),
];

/** Lots of which something was tested, by their own names and by those of parts. */
export function lotsOf({ facts }: DesignIndex, { lots = [], implants = [], coupons = [] }: DesignStudy): string[] {
  const ofParts = [...implants, ...coupons].flatMap((part) => facts.lotOfPart.get(part) ?? []);
  return [...new Set([...lots, ...ofParts])].sort();
}

/** Whether a study tested this part of a lot: one of those that it names there, or any where it names none of the lot. */
export function isTested({ facts }: DesignIndex, study: DesignStudy, lot: string, part: string): boolean {
  const named = [...(study.implants ?? []), ...(study.coupons ?? [])];
  return named.includes(part) || named.every((one) => facts.lotOfPart.get(one) !== lot);
}

interface StrangeLot {
  readonly study: Study;
  readonly lot: string;
  readonly family: string;
  /** Where it is another one than that of the family. */
  readonly alloy: string | undefined;
}

/** Lots of other families on which studies of this one rest. */
export function strangeLots(design: DesignIndex): StrangeLot[] {
  const alloys = new Map(design.current('family').map(({ key, body }) => [key, body.alloy]));
  const own = alloys.get(design.family);
  return design.current('design-study').flatMap((study) =>
    lotsOf(design, study.body).flatMap((lot): StrangeLot[] => {
      const family = design.facts.lots.get(lot)?.family;
      if (family === undefined || family === design.family) return [];
      const alloy = alloys.get(family);
      return [{ study, lot, family, alloy: alloy === own ? undefined : alloy }];
    }),
  );
}
