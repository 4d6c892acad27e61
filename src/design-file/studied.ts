import type { CouponMade, DesignFacts, ExposedLot, StudiedLot } from '../design-history/design-facts.js';
import type { DesignStudy } from '../kinds/design-history/design-study.js';
import type { Coupon, Lot } from '../kinds/lot.js';
import { bodyOf } from '../store/bodies.js';
import type { StoredRevision } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';

type Names = readonly (readonly [kind: string, key: string])[];

/**
 * Lots and parts that studies name, and what was measured of them until then.
 * @param size entries of the audit trail that count.
 */
export async function studiedBy(
  read: Pick<Reads, 'entries' | 'results'>,
  studies: readonly DesignStudy[],
  size: number,
): Promise<Pick<DesignFacts, 'lots' | 'lotOfPart'>> {
  const parts = studies.flatMap(({ implants = [], coupons = [] }) => [
    ...implants.map((part) => ['implant', part] as const),
    ...coupons.map((part) => ['coupon', part] as const),
  ]);
  const lotOfPart = new Map(
    (await latest(read, parts, size)).map(({ kind, key, digest, text }) => [
      key,
      bodyOf(kind === 'coupon' ? 'coupon' : 'implant', digest, text).lot,
    ]),
  );
  const lotsIn = ({ lots = [], implants = [], coupons = [] }: DesignStudy) => [
    ...lots,
    ...[...implants, ...coupons].flatMap((part) => lotOfPart.get(part) ?? []),
  ];
  const named = new Set(studies.flatMap(lotsIn));
  const ofLoss = new Set(studies.filter(({ criterion }) => criterion.by === 'loss against window').flatMap(lotsIn));
  const lots = new Map<string, StudiedLot>();
  for (const { key, digest, text } of await latest(
    read,
    [...named].map((lot) => ['lot', lot] as const),
    size,
  )) {
    const { rows } = await read.results.ofLot(key, size);
    const values = rows
      .filter(({ status }) => status === 'current')
      .map(({ characteristic, specimen, piece, replicate, value, ucum }) => ({
        ...{ characteristic, specimen, piece, replicate, value, ucum },
      }));
    const lot = bodyOf('lot', digest, text);
    const found = { family: lot.family, values };
    lots.set(key, ofLoss.has(key) ? { ...found, exposed: await exposedOf(read, lot, size) } : found);
  }
  return { lots, lotOfPart };
}

/** What of a lot was exposed until then, and what its parts speak for. */
async function exposedOf(read: Pick<Reads, 'entries'>, lot: Lot, size: number): Promise<ExposedLot> {
  const { implants, coupons } = lot;
  const groups = await recipeGroups(read, coupons);
  const parts = [
    ...implants.map(({ serial, build }) => ({ part: serial, build, study: null, made: null })),
    ...coupons.map((one) => {
      const { coupon, build, study = null } = one;
      return { part: coupon, build, study, made: madeOf(lot, one, groups.get(recipeName(one.recipe)) ?? null) };
    }),
  ];
  const named = await read.entries.namingParts(
    'exposure',
    parts.map(({ part }) => part),
  );
  const exposures = await latest(
    read,
    named.map(({ key }) => ['exposure', key] as const),
    size,
  );
  return {
    exposures: exposures
      .map(({ key, revision, digest, text }) => ({ key, revision, digest, body: bodyOf('exposure', digest, text) }))
      .sort((a, b) => (a.key < b.key ? -1 : 1)),
    parts,
  };
}

const recipeName = ({ recipe, revision }: Coupon['recipe']): string => `${recipe} ${revision}`;

/** Group of each recipe by which a coupon was built. */
async function recipeGroups(
  { entries }: Pick<Reads, 'entries'>,
  coupons: readonly Coupon[],
): Promise<ReadonlyMap<string, string>> {
  const codes = [...new Set(coupons.map(({ recipe }) => recipe.recipe))];
  const found = await entries.revisionsOf(codes.map((code) => ['recipe', code] as const));
  return new Map(
    found.map(({ key, revision, digest, text }) => [
      recipeName({ recipe: key, revision }),
      bodyOf('recipe', digest, text).group,
    ]),
  );
}

function madeOf({ builds }: Lot, { build, position, orientation }: Coupon, recipeGroup: string | null): CouponMade {
  const { machine = null, closedAt = null } = builds.find((one) => one.build === build) ?? {};
  return { machine, closedAt, recipeGroup, position: position ?? null, orientation: orientation ?? null };
}

/** The latest revision of each entry that was on record then. */
async function latest({ entries }: Pick<Reads, 'entries'>, names: Names, size: number): Promise<StoredRevision[]> {
  const found = new Map<string, StoredRevision>();
  for (const one of await entries.revisionsOf(names)) {
    const name = `${one.kind} ${one.key}`;
    const before = found.get(name);
    if (one.ledgerSeq <= size && (before === undefined || before.revision < one.revision)) found.set(name, one);
  }
  return [...found.values()];
}
