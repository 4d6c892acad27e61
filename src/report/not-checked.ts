import type { Facts } from '../dossier/facts.js';
import { lawsOfCase } from '../kinds/laws.js';

/**
 * What no check of this version asks, since its facts are not recorded. A later version that records them takes the code out
 * here; the record then says what it knows where it said before that it knows nothing.
 */
const NOT_CHECKED = ['shape'] as const;
/** What nobody asks of implants whose case and family name no law. */
const WITHOUT_LAW = ['law-and-route'] as const;
/** What nobody asks of material that names no specification. */
const WITHOUT_ORDER = ['material-as-ordered'] as const;

export type NotChecked = (typeof NOT_CHECKED | typeof WITHOUT_LAW | typeof WITHOUT_ORDER)[number];

/** What no check asks of a lot. */
export function notChecked({
  family,
  cases,
  receipts,
}: Pick<Facts, 'family' | 'cases' | 'receipts'>): readonly NotChecked[] {
  const isWithoutLaw = [...cases.values()].some(({ body }) => lawsOfCase(family.body, body).length === 0);
  const isWithoutOrder = [...receipts.values()].some(({ body }) => body.materialSpecification === undefined);
  return [...NOT_CHECKED, ...(isWithoutLaw ? WITHOUT_LAW : []), ...(isWithoutOrder ? WITHOUT_ORDER : [])];
}
