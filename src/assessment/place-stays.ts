import type { Facts, Recorded } from '../dossier/facts.js';
import type { PlaceFinding, PlaceLog } from '../kinds/place-log.js';
import type { StoragePlace } from '../kinds/storage-place.js';
import { allUnits } from './checks/check.js';
import { unitsOfSpecimen } from './specimens.js';

/** A time in which a part of the lot, or powder that went into it, lay in a place. */
export interface PlaceStay {
  readonly place: string;
  readonly kind: 'implant' | 'coupon' | 'powder-state';
  readonly key: string;
  /** Moments, milliseconds. */
  readonly from: number;
  readonly to: number;
  readonly units: readonly string[];
}

type Place = Recorded<StoragePlace>;

/** Logs of a place, in the order of their beginnings. */
export const logsOfPlace = ({ placeLogs }: Pick<Facts, 'placeLogs'>, { body }: Place): PlaceLog[] =>
  [...placeLogs.values()]
    .map((log) => log.body)
    .filter(({ place }) => place === body.place)
    .sort((a, b) => Date.parse(a.firstAt) - Date.parse(b.firstAt));

/** Stays of what the lot consists of. One that goes on is asked as far as the logs of the place go. */
export function staysIn(facts: Facts, place: Place): PlaceStay[] {
  const { builds, implants, coupons } = facts.lot.body;
  const lastLogged = Math.max(...logsOfPlace(facts, place).map(({ lastAt }) => Date.parse(lastAt)));
  const lastBuilt = Math.max(...builds.map(({ openedAt }) => Date.parse(openedAt)));
  return (place.body.stays ?? []).flatMap((stay): PlaceStay[] => {
    const from = Date.parse(stay.from);
    const until = stay.to === undefined ? Math.max(from, lastLogged) : Date.parse(stay.to);
    const common = { place: place.body.place, from, to: until };
    if ('implant' in stay) {
      const isOwn = implants.some(({ serial }) => serial === stay.implant);
      return isOwn ? [{ ...common, kind: 'implant', key: stay.implant, units: [stay.implant] }] : [];
    }
    if ('coupon' in stay) {
      const isOwn = coupons.some(({ coupon }) => coupon === stay.coupon);
      return isOwn ? [{ ...common, kind: 'coupon', key: stay.coupon, units: unitsOfSpecimen(facts, stay.coupon) }] : [];
    }
    // What was left of the powder after the build tells nothing of the lot.
    if (!facts.powderStates.has(stay.state) || from > lastBuilt) return [];
    return [
      { ...common, to: Math.min(until, lastBuilt), kind: 'powder-state', key: stay.state, units: allUnits(facts) },
    ];
  });
}

export const isDuring = (
  { from, to }: PlaceStay,
  { startedAt, endedAt }: Pick<PlaceFinding, 'startedAt' | 'endedAt'>,
) => Date.parse(startedAt) <= to && Date.parse(endedAt) >= from;

/** Whether the logs of the place reach over the whole stay. Silence within one is a finding of its scan. */
export function isLogged(facts: Pick<Facts, 'placeLogs'>, place: Place, { from, to }: PlaceStay): boolean {
  const logs = logsOfPlace(facts, place);
  let reached = from;
  for (const { firstAt, lastAt } of logs) {
    if (Date.parse(firstAt) > reached) break;
    reached = Math.max(reached, Date.parse(lastAt));
  }
  return logs.some(({ firstAt }) => Date.parse(firstAt) <= from) && reached >= to;
}
