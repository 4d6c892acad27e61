import { buildsOf, closuresOf } from './build-chain.js';
import type { Lot } from './lot.js';
import type { LotStep, MovedPart } from './lot-after-build.js';
import type { UnitMove } from './unit-move.js';

/** A lot as it is after the moves of its units. */
export type LotNow = Lot & {
  /** Parts that were built in it and went on in another lot. */
  readonly moved?: readonly MovedPart[];
  /** Of a lot that was split from another: parts that came over. Other coupons of it only speak for them, and stayed. */
  readonly came?: readonly MovedPart[];
};

/** Moves by which something came into a lot or left it, and the document of the lot that it was split from. */
export interface Moves {
  readonly origin: Lot | undefined;
  readonly moves: readonly UnitMove[];
}

const partsOf = ({ implants = [], coupons = [] }: Pick<UnitMove, 'implants' | 'coupons'>): string[] => [
  ...implants,
  ...coupons,
];

const allParts = ({ implants, coupons }: Pick<Lot, 'implants' | 'coupons'>): string[] => [
  ...implants.map(({ serial }) => serial),
  ...coupons.map(({ coupon }) => coupon),
];

const movedBy = (move: UnitMove): MovedPart[] =>
  partsOf(move).map((part) => ({ part, as: 'moved', at: move.at, by: move.by, lot: move.toLot, move: move.move }));

/**
 * A lot together with the moves of its units. A lot that was split from another has what the units that came over rest on:
 * their builds, the coupons that stand for them, and what was done to these before they left. Nothing of it is copied: it
 * stands in the document of the lot in which they were built.
 */
export function lotNow(own: Lot, { origin, moves }: Moves): LotNow {
  const moved = moves.filter(({ fromLot }) => fromLot === own.lot).flatMap(movedBy);
  if (own.splitFrom !== undefined && origin !== undefined) {
    return withOrigin(
      own,
      origin,
      moves.filter(({ fromLot, toLot }) => fromLot === own.splitFrom && toLot === own.lot),
    );
  }
  if (moved.length === 0) return own;
  const left = new Map(moved.map(({ part, at }) => [part, at]));
  const steps = own.steps.flatMap((step) => among(step, allParts(own), (part) => wasThere(left.get(part), step)));
  return { ...own, steps, moved };
}

function withOrigin(own: Lot, origin: Lot, moves: readonly UnitMove[]): LotNow {
  const came = moves.flatMap(movedBy);
  const left = new Map(came.map(({ part, at }) => [part, at]));
  const implants = origin.implants.filter(({ serial }) => left.has(serial));
  const coupons = origin.coupons
    .map((coupon) => ({ ...coupon, standsFor: coupon.standsFor.filter((serial) => left.has(serial)) }))
    .filter(({ standsFor }) => standsFor.length > 0);
  const parts = allParts({ implants, coupons });
  const isOwn = (part: string) => parts.includes(part);
  const builds = new Set(
    [...implants, ...coupons].flatMap(closuresOf).flatMap((build) => buildsOf(origin, build).map((one) => one.build)),
  );
  const fates = [...(origin.fates ?? []).filter(({ part }) => isOwn(part)), ...(own.fates ?? [])];
  return {
    ...own,
    // Before anything came over it shows where it will be from.
    builds: moves.length === 0 ? origin.builds : origin.builds.filter(({ build }) => builds.has(build)),
    implants,
    coupons,
    steps: [
      ...origin.steps.flatMap((step) => among(step, parts, (part) => wasThere(left.get(part), step))),
      ...own.steps.flatMap((step) => among(step, parts, (part) => left.has(part))),
    ],
    invalidTests: [
      ...(origin.invalidTests ?? []).filter(({ result }) => isOwn(result.specimen)),
      ...(own.invalidTests ?? []),
    ],
    replacements: [
      ...(origin.replacements ?? []).filter(({ replaces, by }) => isOwn(replaces) && isOwn(by)),
      ...(own.replacements ?? []),
    ],
    fates,
    scans: [...(origin.scans ?? []).filter(({ specimen }) => isOwn(specimen)), ...(own.scans ?? [])],
    came,
  };
}

/** Whether a part had not left when a step was done. */
const wasThere = (leftAt: string | undefined, { at }: LotStep): boolean =>
  leftAt === undefined || Date.parse(at) <= Date.parse(leftAt);

/** A step as far as it was done to some of the parts; one on the whole lot names them when not all were there. */
function among(step: LotStep, parts: readonly string[], isThere: (part: string) => boolean): LotStep[] {
  const done = (step.parts ?? parts).filter((part) => parts.includes(part) && isThere(part));
  if (done.length === 0) return [];
  return step.parts === undefined && done.length === parts.length ? [step] : [{ ...step, parts: done }];
}

/** Whether a part had gone on in another lot at a moment: what is done to it from then on is told and judged there. */
export const hadLeft = ({ moved = [] }: Pick<LotNow, 'moved'>, part: string, at: string): boolean =>
  moved.some((one) => one.part === part && Date.parse(one.at) < Date.parse(at));

/** Parts that are in a lot now: not those that left it, nor coupons that only speak for what came over. */
export function partsInside({ implants, coupons, moved = [], came }: LotNow): Pick<Lot, 'implants' | 'coupons'> {
  const away = new Set(moved.map(({ part }) => part));
  const isHere = (part: string) => !away.has(part) && (came === undefined || came.some((one) => one.part === part));
  return {
    implants: implants.filter(({ serial }) => isHere(serial)),
    coupons: coupons.filter(({ coupon }) => isHere(coupon)),
  };
}
