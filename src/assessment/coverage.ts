import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import type { BuiltZone } from '../kinds/lot.js';

/** What a log finding touches. */
export interface Coverage {
  readonly implants: readonly string[];
  readonly coupons: readonly string[];
}

/**
 * The implants and coupons whose zones and layers a finding covers.
 * A row without zone covers every part with that layer, one without layer every part of the build (design §10).
 */
export function coverageOf(facts: Facts, finding: Pick<LogFinding, 'build' | 'places'>): Coverage {
  const { implants, coupons } = facts.lot.body;
  const touched = (part: { build: string; zones: readonly BuiltZone[] }) =>
    part.build === finding.build && part.zones.some((zone) => finding.places.some((place) => covers(place, zone)));
  return {
    implants: implants.filter(touched).map((implant) => implant.serial),
    coupons: coupons.filter(touched).map((coupon) => coupon.coupon),
  };
}

function covers(place: LogFinding['places'][number], zone: BuiltZone): boolean {
  if (place.zone !== null && place.zone !== zone.zone) return false;
  const from = place.layerFrom ?? Number.NEGATIVE_INFINITY;
  const to = place.layerTo ?? Number.POSITIVE_INFINITY;
  return from <= zone.layers.to && to >= zone.layers.from;
}
