import type { Facts } from '../dossier/facts.js';
import { lawsOfCase } from '../kinds/laws.js';
import { fateOf, finalScansOf } from '../kinds/lot-after-build.js';

/** What nobody asks of a finished implant that is there and was not scanned. */
const WITHOUT_SCAN = ['shape'] as const;
/** What nobody asks of implants whose case and family name no law. */
const WITHOUT_LAW = ['law-and-route'] as const;
/** What nobody asks of material that names no specification. */
const WITHOUT_ORDER = ['material-as-ordered'] as const;

export type NotChecked = (typeof WITHOUT_SCAN | typeof WITHOUT_LAW | typeof WITHOUT_ORDER)[number];

/** What no check asks of a lot. */
export function notChecked({
  family,
  cases,
  receipts,
  lot,
}: Pick<Facts, 'family' | 'cases' | 'receipts' | 'lot'>): readonly NotChecked[] {
  const isWithoutLaw = [...cases.values()].some(({ body }) => lawsOfCase(family.body, body).length === 0);
  const isWithoutOrder = [...receipts.values()].some(({ body }) => body.materialSpecification === undefined);
  const { implants, scans } = lot.body;
  const isWithoutScan = implants.some(
    ({ serial }) => finalScansOf(scans, serial).length === 0 && !fateOf(lot.body, serial),
  );
  return [
    ...(isWithoutScan ? WITHOUT_SCAN : []),
    ...(isWithoutLaw ? WITHOUT_LAW : []),
    ...(isWithoutOrder ? WITHOUT_ORDER : []),
  ];
}
