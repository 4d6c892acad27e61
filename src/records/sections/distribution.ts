import { timeText } from '../../dossier/time-text.js';
import { balanceOf } from '../../dossier/unit-places.js';
import { isAway } from '../../kinds/after-release/places.js';
import type { RecordPage } from '../../pdf/page.js';
import { entryText } from '../../report/phrases/kinds.js';
import { balanceText, holderText, placeStateText } from '../../report/phrases/places.js';
import { DISTRIBUTION } from '../../report/phrases/record-distribution.js';
import type { PlaceNote } from '../enclosure.js';
import type { RecordView } from '../record-view.js';

/** To whom units went, and where each of them was when the record was issued. One table, once something left its place. */
export function drawDistribution(pdf: RecordPage, { enclosure: { places } }: RecordView): void {
  if (places === undefined) {
    pdf.paragraph(DISTRIBUTION.unknown);
    return;
  }
  const of = (kind: PlaceNote['kind']) => places.filter((note) => note.kind === kind);
  pdf.paragraph(DISTRIBUTION.implants(balanceText(balanceOf(of('implant')))));
  if (of('coupon').length > 0) pdf.paragraph(DISTRIBUTION.coupons(balanceText(balanceOf(of('coupon')))));
  if (!of('implant').some(({ place, by }) => isAway(place) || by !== null)) return;
  pdf.table({
    caption: DISTRIBUTION.caption,
    columns: [
      { head: DISTRIBUTION.serial, width: 2.4 },
      { head: DISTRIBUTION.place, width: 3 },
      { head: DISTRIBUTION.since, width: 2.6 },
      { head: DISTRIBUTION.holder, width: 4 },
      { head: DISTRIBUTION.document, width: 2.6 },
    ],
    rows: of('implant').map(({ key, since, by, holder, ...note }) => [
      key,
      placeStateText(note),
      since === null ? '' : timeText(since),
      holderText(holder),
      documentText(by),
    ]),
  });
}

/** A fate stands in the lot file, under the part itself. */
function documentText(by: PlaceNote['by']): string {
  if (by === null) return DISTRIBUTION.build;
  return by.kind === 'implant' ? DISTRIBUTION.lotFile : entryText(by.kind, by.key, null);
}
