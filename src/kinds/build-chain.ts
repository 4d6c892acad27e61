import type { RecipeStep } from './fields.js';
import type { Contradiction } from './kind.js';
import type { Build, BuiltZone, Coupon, Implant, Lot } from './lot.js';

/** Every closure of the chamber that a part went through, the first one first. */
export const closuresOf = (part: Pick<Implant | Coupon, 'build' | 'alsoIn'>): string[] => [
  part.build,
  ...(part.alsoIn ?? []).map(({ build }) => build),
];

/** Every recipe revision that a part went through, that of its first closure first. */
export const recipesOf = (part: Pick<Implant | Coupon, 'recipe' | 'alsoIn'>): Implant['recipe'][] => [
  part.recipe,
  ...(part.alsoIn ?? []).flatMap(({ recipe }) => recipe ?? []),
];

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

/**
 * The build in which something of a part was made first: of its own and those that this one continues, the first that was not
 * only planned. Undefined where nothing of it was made.
 */
export const firstMadeIn = (lot: Pick<Lot, 'builds'>, { build }: Pick<Implant | Coupon, 'build'>): Build | undefined =>
  buildsOf(lot, build).findLast(({ state }) => state !== 'planned');

/** When the chamber was closed over a lot for the first time; undefined while nothing was built. */
export const firstClosedAt = ({ builds }: Pick<Lot, 'builds'>): string | undefined =>
  builds
    .filter(({ state }) => state !== 'planned')
    .map(({ closedAt }) => closedAt)
    .sort((a, b) => Date.parse(a) - Date.parse(b))[0];

/** A part as far as it was made in one closure: its zones cut to the layers, its recipe that of this closure. */
export type MadePart = (Implant | Coupon) & {
  /** Whether the lot says that a step of the recipe was done in this closure. */
  readonly does: (step: RecipeStep) => boolean;
  /** True where nothing was deposited on it: what an earlier closure made is only finished. */
  readonly isFinishing: boolean;
};

type Part = Pick<Implant | Coupon, 'build' | 'alsoIn' | 'recipe'>;

/** What is done to a part in a closure or in those that it continues, the last one first. */
interface Passage extends Pick<MadePart, 'recipe' | 'does' | 'isFinishing'> {
  readonly chain: readonly Build[];
}

function passagesOf(lot: Pick<Lot, 'builds'>, { build, alsoIn = [], recipe }: Part): Passage[] {
  const elsewhere = new Set(alsoIn.flatMap((further) => (further.recipe === undefined ? further.steps : [])));
  return [
    { chain: buildsOf(lot, build), recipe, does: (step) => !elsewhere.has(step), isFinishing: false },
    ...alsoIn.map((further) => ({
      chain: buildsOf(lot, further.build),
      recipe: further.recipe ?? recipe,
      does: (step: RecipeStep) => further.steps.includes(step),
      isFinishing: !further.steps.includes('deposit'),
    })),
  ];
}

const passageIn = (lot: Pick<Lot, 'builds'>, part: Part, build: string): Passage | undefined =>
  passagesOf(lot, part).find(({ chain }) => chain.some((item) => item.build === build));

/** True when something of a part was made in a build, or in one that continues it up to the build of the part. */
export const isMadeIn = (lot: Pick<Lot, 'builds'>, part: Part, build: string): boolean =>
  passageIn(lot, part, build) !== undefined;

/**
 * Implants and coupons of which something was made in a build. After an interruption a part names the build that finished
 * it, and the builds that this one continues made its lower layers: zones are cut to the layers made in this build.
 */
export function partsMadeIn(lot: Pick<Lot, 'builds' | 'implants' | 'coupons'>, build: string): MadePart[] {
  return [...lot.implants, ...lot.coupons].flatMap((part) => {
    const passage = passageIn(lot, part, build);
    if (passage === undefined) return [];
    const { chain, ...made } = passage;
    const zones = part.zones.flatMap((zone) => cutToBuild(chain, zone, build));
    return zones.length === 0 ? [] : [{ ...part, ...made, zones }];
  });
}

/** A zone of an implant as far as it was made in a build; undefined when nothing of it was. */
export const zoneMadeIn = (
  lot: Pick<Lot, 'builds' | 'implants' | 'coupons'>,
  { serial }: Pick<Implant, 'serial'>,
  zone: string,
  build: string,
): BuiltZone | undefined =>
  partsMadeIn(lot, build)
    .find((part) => 'serial' in part && part.serial === serial)
    ?.zones.find((item) => item.zone === zone);

function cutToBuild(chain: readonly Build[], zone: BuiltZone, build: string): BuiltZone[] {
  const place = chain.findIndex((item) => item.build === build);
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
