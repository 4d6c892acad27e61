import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import { type MadePart, partsMadeIn } from '../kinds/build-chain.js';
import type { BuiltZone, Coupon, Implant, Lot } from '../kinds/lot.js';

type Place = LogFinding['places'][number];

/** What a log finding touches. */
export interface Coverage {
  readonly implants: readonly string[];
  readonly coupons: readonly string[];
}

/** The place of what concerns a build as a whole. */
export const WHOLE_BUILD: LogFinding['places'] = [{ zone: null, layerFrom: null, layerTo: null }];

const made = new WeakMap<Facts, Map<string, readonly MadePart[]>>();

/** Parts of which something was made in a build, worked out once for a lot file: a noisy log asks for each finding. */
export function partsOfBuild(facts: Facts, build: string): readonly MadePart[] {
  const known = made.get(facts) ?? new Map<string, readonly MadePart[]>();
  made.set(facts, known);
  const parts = known.get(build) ?? partsMadeIn(facts.lot.body, build);
  known.set(build, parts);
  return parts;
}

/**
 * The places of a finding as they lie on the parts of its build (docs/trade.md 3.4). A row without zone covers every part
 * with that layer, one without layer every part of the build. A place where no part was built (the chamber, layer 0, a
 * misspelt zone) cannot be held against one part alone, and so against none less than all: it is the whole build.
 */
export const placesOnParts = (
  lot: Pick<Lot, 'builds' | 'implants' | 'coupons'>,
  { build, places }: Pick<LogFinding, 'build' | 'places'>,
): LogFinding['places'] => placesOn(partsMadeIn(lot, build), places);

function placesOn(parts: readonly (Implant | Coupon)[], places: LogFinding['places']): LogFinding['places'] {
  const isOnPart = (place: Place) => parts.some((part) => part.zones.some((zone) => covers(place, zone)));
  return places.length > 0 && places.every(isOnPart) ? places : WHOLE_BUILD;
}

/** The implants and coupons whose zones and layers a finding covers. */
export function coverageOf(facts: Facts, finding: Pick<LogFinding, 'build' | 'places'>): Coverage {
  const parts = partsOfBuild(facts, finding.build);
  const places = placesOn(parts, finding.places);
  const touched = parts.filter((part) => part.zones.some((zone) => places.some((place) => covers(place, zone))));
  return {
    implants: touched.flatMap((part) => ('serial' in part ? [part.serial] : [])),
    coupons: touched.flatMap((part) => ('coupon' in part ? [part.coupon] : [])),
  };
}

export interface LayerRange {
  readonly from: number;
  readonly to: number;
}

/** Affected layers of an implant for which a coupon does not speak, since it was not built in them or not affected. */
export interface NotRepresented {
  readonly implant: string;
  readonly coupon: string;
  readonly layers: readonly LayerRange[];
}

/**
 * Coupons that stand for an implant which a finding covers, and do not represent it: a coupon built outside the affected
 * layers, or in a zone that was spared, had another history there (docs/trade.md 3.6). Layers are counted as built.
 */
export function notRepresented(facts: Facts, finding: Pick<LogFinding, 'build' | 'places'>): NotRepresented[] {
  const parts = partsOfBuild(facts, finding.build);
  const byCode = new Map(parts.map((part) => [codeOf(part), part]));
  const places = placesOn(parts, finding.places);
  const affectedOf = (code: string) => affectedLayers(byCode.get(code)?.zones ?? [], places);
  return facts.lot.body.implants.flatMap(({ serial }) => {
    const affected = affectedOf(serial);
    if (affected.length === 0) return [];
    const standing = facts.lot.body.coupons.filter((coupon) => coupon.standsFor.includes(serial));
    return standing.flatMap(({ coupon }) => {
      const layers = without(affected, affectedOf(coupon));
      return layers.length === 0 ? [] : [{ implant: serial, coupon, layers }];
    });
  });
}

const codeOf = (part: Implant | Coupon): string => ('serial' in part ? part.serial : part.coupon);

/** A finding with the layers in which it leaves an implant without the word of a coupon. */
export interface CouponGap<F extends LogFinding> {
  readonly finding: F;
  readonly layers: readonly LayerRange[];
}

/**
 * Why a coupon does not fully speak for an implant: the action and reject findings whose affected layers it did not share.
 * Empty when it represents the implant as far as the logs tell.
 * @param findings of all logs of the lot, as `logFindingsOf` gives them.
 */
export function couponGaps<F extends LogFinding>(
  facts: Facts,
  findings: readonly F[],
  coupon: string,
  implant: string,
): CouponGap<F>[] {
  return findings
    .filter((finding) => finding.level !== 'alert')
    .flatMap((finding) =>
      notRepresented(facts, finding)
        .filter((item) => item.coupon === coupon && item.implant === implant)
        .map(({ layers }) => ({ finding, layers })),
    );
}

/** Layers of a part that a finding covers, joined and in order. */
function affectedLayers(zones: readonly BuiltZone[], places: LogFinding['places']): LayerRange[] {
  const ranges = zones.flatMap((zone) =>
    places
      .filter((place) => covers(place, zone))
      .map((place) => ({
        from: Math.max(zone.layers.from, place.layerFrom ?? zone.layers.from),
        to: Math.min(zone.layers.to, place.layerTo ?? zone.layers.to),
      })),
  );
  return joined(ranges);
}

/** Ranges that touch or overlap become one; in order. */
export function joined(ranges: readonly LayerRange[]): LayerRange[] {
  const result: LayerRange[] = [];
  for (const range of [...ranges].sort((a, b) => a.from - b.from)) {
    const last = result.at(-1);
    if (last === undefined || range.from > last.to + 1) result.push(range);
    else result[result.length - 1] = { from: last.from, to: Math.max(last.to, range.to) };
  }
  return result;
}

/** What is left of `ranges` when `taken` is cut out. Both joined and in order. */
function without(ranges: readonly LayerRange[], taken: readonly LayerRange[]): LayerRange[] {
  return ranges.flatMap((range) => {
    const left: LayerRange[] = [];
    let { from } = range;
    for (const cut of taken.filter((item) => item.from <= range.to && item.to >= range.from)) {
      if (cut.from > from) left.push({ from, to: cut.from - 1 });
      from = Math.max(from, cut.to + 1);
    }
    if (from <= range.to) left.push({ from, to: range.to });
    return left;
  });
}

function covers(place: Place, zone: BuiltZone): boolean {
  if (place.zone !== null && place.zone !== zone.zone) return false;
  const from = place.layerFrom ?? Number.NEGATIVE_INFINITY;
  const to = place.layerTo ?? Number.POSITIVE_INFINITY;
  return from <= zone.layers.to && to >= zone.layers.from;
}
