import { timeText } from '../dossier/time-text.js';
import { balanceOf } from '../dossier/unit-places.js';
import type { PlacedPart } from '../lots/unit-places.js';
import { entryText } from '../report/phrases/kinds.js';
import { balanceText, holderText, placeStateText } from '../report/phrases/places.js';

/** Where the implants of a lot are: the count, and each that is somewhere by a document. */
export function lotPlacesView(parts: readonly PlacedPart[]) {
  const implants = parts.filter(({ kind }) => kind === 'implant');
  return {
    balance: balanceText(
      balanceOf(implants.map(({ key, place, course }) => ({ key, place, contradicted: course.faults.length > 0 }))),
    ),
    moved: implants.flatMap(({ key, since, by, holder, ...state }) =>
      by === null || by.kind === 'implant'
        ? []
        : [
            {
              serial: key,
              place: placeStateText(state),
              since: since === null ? '' : timeText(since),
              holder: holderText(holder),
              by: entryText(by.kind, by.key, null),
              key: by.key,
            },
          ],
    ),
  };
}
