import type { Nonconformity } from '../../kinds/nonconformity.js';

/** What becomes of a part that a nonconformity touches. */
export const DISPOSITIONS: Readonly<Record<NonNullable<Nonconformity['disposition']>[number]['as'], string>> = {
  rework: 'rework',
  concession: 'concession',
  scrap: 'scrapped',
  return: 'sent back',
  'no effect': 'no effect',
};
