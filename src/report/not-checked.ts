import type { Facts } from '../dossier/facts.js';
import { lawsOfCase } from '../kinds/laws.js';

/**
 * What no check of this version asks, since its facts are not recorded. A later version that records them takes the code out
 * here; the record then says what it knows where it said before that it knows nothing.
 */
const NOT_CHECKED = [
  'shape',
  'media-and-tools',
  'cleaning-and-packing',
  'sterile-load',
  'nonconformity-reports',
  'signal-outcomes',
  'distribution',
  'risk-controls',
] as const;
/** What nobody asks of implants whose case and family name no law. */
const WITHOUT_LAW = ['law-and-route'] as const;

export type NotChecked = (typeof NOT_CHECKED | typeof WITHOUT_LAW)[number];

/** What no check asks of a lot. */
export function notChecked({ family, cases }: Pick<Facts, 'family' | 'cases'>): readonly NotChecked[] {
  const isWithoutLaw = [...cases.values()].some(({ body }) => lawsOfCase(family.body, body).length === 0);
  return [...NOT_CHECKED, ...(isWithoutLaw ? WITHOUT_LAW : [])];
}
