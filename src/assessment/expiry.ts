import type { Facts } from '../dossier/facts.js';
import type { Implant } from '../kinds/lot.js';
import { builtDesigns } from './built-designs.js';
import { loadOf, stepsOf } from './loads.js';

/** What ends the time in which an implant may be used. */
export type ExpiryBound = 'shelf life' | 'sterile barrier' | 'age of images';

export interface Expiry {
  /** Last day, as ISO calendar day. */
  readonly day: string;
  readonly bound: ExpiryBound;
}

const DAY_MS = 86_400_000;

const laterBy = (day: string, days: number): string =>
  new Date(Date.parse(day) + days * DAY_MS).toISOString().slice(0, 10);

/**
 * Until when an implant may be used: the earliest of shelf life, sterile barrier and age of its images. Undefined before
 * it is packed, and where nothing bounds it.
 */
export function expiryOf(facts: Facts, { serial, case: code, designIteration }: Implant): Expiry | undefined {
  const packed = stepsOf(facts, serial, 'pack').at(-1);
  if (packed === undefined) return undefined;
  const { shelfLifeDays } = facts.specification.body;
  const barriers = (['pack', 'sterilise'] as const).flatMap((step) => {
    const last = stepsOf(facts, serial, step).at(-1);
    return (last && loadOf(facts, last, serial)?.body.expiry) ?? [];
  });
  const design = builtDesigns(facts).find((one) => one.code === code && one.iteration === designIteration);
  const imageAgeDays = design?.envelope?.body.imageAgeDays;
  const images = design?.imagingSets.map(({ body }) => body.takenOn) ?? [];
  const bounds: Expiry[] = [
    ...(shelfLifeDays === undefined
      ? []
      : [{ day: laterBy(packed.at.slice(0, 10), shelfLifeDays), bound: 'shelf life' as const }]),
    ...barriers.map((day) => ({ day, bound: 'sterile barrier' as const })),
    ...(imageAgeDays === undefined
      ? []
      : images.map((day) => ({ day: laterBy(day, imageAgeDays), bound: 'age of images' as const }))),
  ];
  return bounds.sort((a, b) => a.day.localeCompare(b.day, 'en'))[0];
}
