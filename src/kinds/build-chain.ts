import type { Contradiction } from './kind.js';
import type { Build, BuiltZone, Coupon, Implant, Lot } from './lot.js';

/** The build of a part and those that it continues, the last one first. */
export function buildsOf(lot: Pick<Lot, 'builds'>, build: string): Build[] {
  const chain: Build[] = [];
  let next = lot.builds.find((item) => item.build === build);
  while (next !== undefined && !chain.includes(next)) {
    chain.push(next);
    const earlier = next.continues?.build;
    next = lot.builds.find((item) => item.build === earlier);
  }
  return chain;
}

/** True when something of a part was made in a build, or in one that continues it up to the build of the part. */
export function isMadeIn(lot: Pick<Lot, 'builds'>, part: Pick<Implant | Coupon, 'build' | 'alsoIn'>, build: string) {
  return [part.build, ...(part.alsoIn ?? [])].some(
    (closure) => closure === build || buildsOf(lot, closure).some((item) => item.build === build),
  );
}

/**
 * Implants and coupons of which something was made in a build. After an interruption a part names the build that finished
 * it, and the builds that this one continues made its lower layers: zones are cut to the layers made in this build.
 */
export function partsMadeIn(lot: Pick<Lot, 'builds' | 'implants' | 'coupons'>, build: string): (Implant | Coupon)[] {
  return [...lot.implants, ...lot.coupons].flatMap((part) => {
    if (!isMadeIn(lot, part, build)) return [];
    const zones = part.zones.flatMap((zone) => cutToBuild(lot, part, zone, build));
    return zones.length === 0 ? [] : [{ ...part, zones }];
  });
}

function cutToBuild(lot: Pick<Lot, 'builds'>, part: Implant | Coupon, zone: BuiltZone, build: string): BuiltZone[] {
  const chain = buildsOf(lot, part.build);
  const place = chain.findIndex((item) => item.build === build);
  if (place < 0) return [zone];
  const from = Math.max(zone.layers.from, chain[place]!.continues?.fromLayer ?? 0);
  const before = chain[place - 1]?.continues?.fromLayer ?? Number.POSITIVE_INFINITY;
  const to = Math.min(zone.layers.to, before - 1);
  return from > to ? [] : [{ ...zone, layers: { from, to } }];
}

/** A build continues one that was opened before it was closed, and no build is continued twice. */
export function chainContradictions({ builds }: Pick<Lot, 'builds'>): Contradiction[] {
  return builds.flatMap((build, index) => {
    const { continues } = build;
    if (continues === undefined) return [];
    const field = `builds[${index}].continues.build`;
    const earlier = builds.find((item) => item.build === continues.build);
    if (earlier === undefined || earlier === build) {
      const expected = 'an earlier build that this file declares';
      return [{ field, found: continues.build, expected, remedy: 'declare the interrupted build in this file too' }];
    }
    const found: Contradiction[] = [];
    if (Date.parse(earlier.openedAt) > Date.parse(build.closedAt)) {
      found.push({
        field,
        found: `${continues.build}, opened at ${earlier.openedAt}`,
        expected: `a build that was opened before ${build.closedAt}`,
        remedy: 'correct the times, or name the build that was interrupted',
      });
    }
    const other = builds.find((item) => item !== build && item.continues?.build === continues.build);
    if (other !== undefined) {
      found.push({
        field,
        found: `${continues.build}, which ${other.build} continues too`,
        expected: 'each build continued by one',
        remedy: 'name the build that was interrupted last',
      });
    }
    return found;
  });
}
