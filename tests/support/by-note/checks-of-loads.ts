import { type Carried, compare, type Json, moment, unique } from './carried.js';
import type { Asked } from './checks.js';
import { hadMoved, implantsOf } from './closures.js';
import { BLOCKS, C, D, FAILS, type Found, found } from './words.js';

const partsIn = ({ body }: Json): string[] => [...(body.implants ?? []), ...(body.coupons ?? [])];
const partsOfLot = ({ implants, coupons }: Carried): string[] => [
  ...implants.map(({ serial }) => serial),
  ...coupons.map(({ coupon }) => coupon),
];
const ownIn = (carried: Carried, load: Json): string[] =>
  partsOfLot(carried).filter((part) => partsIn(load).includes(part) && !hadMoved(carried, part, load.body.at));
const unitsOf = (carried: Carried, parts: readonly string[]): string[] =>
  unique(parts.flatMap((part) => implantsOf(carried, part)));
const loadsOf = (carried: Carried): readonly Json[] => carried.allPinned('process-load');
const isSterile = (carried: Carried): boolean => carried.allPinned('family')[0].body.sterile === 'sterile';
const SPECIAL = ['heat-treat', 'coat', 'sterilise'];

/** Steps of one sort through which a part went, in order. */
export const stepsOf = (carried: Carried, part: string, wanted: string): Json[] =>
  (carried.lot.steps ?? [])
    .filter((one: Json) => one.step === wanted && partsOfStep(carried, one).includes(part))
    .sort((a: Json, b: Json) => moment(a.at) - moment(b.at));

/** The load that a step names, if it is of that step and lists the part. */
export function loadOf(carried: Carried, { step, load }: Json, part: string): Json | undefined {
  const named = load === undefined ? undefined : carried.pinned('process-load', load);
  return named?.body.step === step && partsIn(named).includes(part) ? named.body : undefined;
}

function partsOfStep(carried: Carried, { parts, at }: Json): string[] {
  if (parts !== undefined) return parts;
  const gone = (carried.lot.fates ?? []).filter((fate: Json) => moment(fate.at) <= moment(at));
  return partsOfLot(carried).filter((code) => !gone.some(({ part }: Json) => part === code));
}

const told = (carried: Carried, rule: string, parts: readonly string[], more: Partial<Found> = {}): Found[] =>
  parts.length === 0 ? [] : [found(rule, unitsOf(carried, parts), more)];

function areAtOnce(a: Json, b: Json): boolean {
  const [from, to] = [moment(a.startedAt ?? a.at), moment(a.at)];
  const [otherFrom, otherTo] = [moment(b.startedAt ?? b.at), moment(b.at)];
  return (from === otherFrom && to === otherTo) || Math.max(from, otherFrom) < Math.min(to, otherTo);
}

/** Whether a part was in a later load of the same step. */
const isAgain = (carried: Carried, load: Json, part: string): boolean =>
  loadsOf(carried).some(
    (other) =>
      other.body.step === load.body.step &&
      moment(other.body.at) > moment(load.body.at) &&
      partsIn(other).includes(part),
  );

/** What is wrong with the cycle or an indicator of a load. */
function faultsOf({ body: { step, cycle, indicators = [] } }: Json): [string, Partial<Found>][] {
  const isOut = ({ value, min, max }: Json) =>
    (min !== undefined && compare(value, min) < 0) || (max !== undefined && compare(value, max) > 0);
  const isLimited = cycle.some(({ min, max }: Json) => min !== undefined || max !== undefined);
  return [
    ...cycle.filter(isOut).map(() => ['outside its limits', FAILS]),
    ...(isLimited || !SPECIAL.includes(step) ? [] : [['no limits', {}]]),
    ...indicators.filter(({ result }: Json) => result === 'failed').map(() => ['indicator failed', FAILS]),
    ...(step === 'sterilise' && indicators.length === 0 ? [['no indicator', {}]] : []),
  ] as [string, Partial<Found>][];
}

function waits(carried: Carried, implant: Json, { from, to, hours }: Json): Found[] {
  const { serial, build, alsoIn = [] } = implant;
  const names = [build, ...alsoIn.map((one: Json) => one.build)];
  const before: string[] =
    from === 'build'
      ? carried.builds.filter((one) => names.includes(one.build)).map(({ openedAt }) => openedAt)
      : stepsOf(carried, serial, from).map(({ at }) => at);
  const asked = stepsOf(carried, serial, to).filter(({ instruction }) => from !== 'build' || instruction === undefined);
  return asked.flatMap((step): Found[] => {
    const began = moment(loadOf(carried, step, serial)?.startedAt ?? step.at);
    const times = before.filter((at) => at !== undefined && moment(at) <= began).map(moment);
    if (times.length === 0) return [found('earlier step not on record', [serial])];
    const waited = began - Math.max(...times);
    return waited > Number(hours) * 3_600_000 ? [found('waited too long', [serial], C)] : [];
  });
}

function openPouch(carried: Carried, serial: string, hours: string): Found[] {
  const packs = stepsOf(carried, serial, 'pack').map((step) => loadOf(carried, step, serial));
  if (packs.some((load) => load?.startedAt === undefined)) return [found('open time not known', [serial])];
  const open = packs.reduce((sum, load) => sum + moment(load!.at) - moment(load!.startedAt), 0);
  return open > Number(hours) * 3_600_000 ? [found('pouch open too long', [serial], C)] : [];
}

/** Stays of parts and powder of the lot in a place, each with its implants and its end. */
function staysIn(carried: Carried, { body: { stays = [] } }: Json, logs: readonly Json[]): Json[] {
  const built = Math.max(...carried.builds.map(({ openedAt }) => moment(openedAt)));
  const logged = Math.max(...logs.map(({ body }) => moment(body.lastAt)));
  return stays.flatMap((stay: Json) => {
    const from = moment(stay.from);
    const to = stay.to === undefined ? Math.max(from, logged) : moment(stay.to);
    if (stay.state !== undefined) {
      const counts = carried.pinned('powder-state', stay.state) !== undefined && from <= built;
      return counts ? [{ from, to: Math.min(to, built), units: [...carried.serials] }] : [];
    }
    const part = stay.implant ?? stay.coupon;
    if (!partsOfLot(carried).includes(part)) return [];
    return [{ from, to, isImplant: stay.implant !== undefined, units: implantsOf(carried, part) }];
  });
}

/** Places with what of the lot lay in each. */
export const staysOfPlaces = (carried: Carried): { readonly place: Json; readonly stays: readonly Json[] }[] =>
  carried.allPinned('storage-place').map((place: Json) => ({
    place: place.body,
    stays: staysIn(
      carried,
      place,
      carried.allPinned('place-log').filter(({ body }: Json) => body.place === place.key),
    ),
  }));

function placeFound(carried: Carried, place: Json): { found: Found[]; stays: number } {
  const logs = carried.allPinned('place-log').filter(({ body }: Json) => body.place === place.key);
  const stays = staysIn(carried, place, logs);
  const stretches = logs.map(({ body }: Json) => [moment(body.firstAt), moment(body.lastAt)] as const);
  const isCovered = ({ from, to }: Json): boolean => {
    let at = from;
    for (const [first, last] of [...stretches].sort(([a], [b]) => a - b)) if (first <= at && last > at) at = last;
    return stretches.some(([first, last]) => first <= from && from <= last) && at >= to;
  };
  const units = (some: readonly Json[]): string[] => unique(some.flatMap((stay) => stay.units));
  const bare = stays.filter((stay) => !isCovered(stay));
  const findings = logs.flatMap(({ body }: Json) => body.findings).filter(({ level }: Json) => level !== 'alert');
  return {
    stays: stays.length,
    found: [
      ...(bare.length === 0 ? [] : [found('not logged', units(bare), D)]),
      ...findings.flatMap((one: Json): Found[] => {
        const touched = stays.filter(({ from, to }) => moment(one.startedAt) <= to && moment(one.endedAt) >= from);
        const isOut = one.rule === 'excursion';
        const failed = touched.filter(({ isImplant }) => isOut && one.level === 'reject' && isImplant === true);
        const others = touched.filter((stay) => !failed.includes(stay));
        return [
          ...(failed.length === 0 ? [] : [found('window left', units(failed), FAILS)]),
          ...(others.length === 0 ? [] : [found(isOut ? 'window left' : 'log not sound', units(others), D)]),
        ];
      }),
    ],
  };
}

export const CHECKS_OF_LOADS: Readonly<Record<string, Asked>> = {
  'places-kept': (carried) => {
    const asked = carried.allPinned('storage-place').map((place: Json) => placeFound(carried, place));
    return { found: asked.flatMap((one) => one.found), applies: asked.some(({ stays }) => stays > 0) };
  },

  'loads-named': (carried) => {
    const loads = loadsOf(carried);
    const steps: Json[] = carried.lot.steps ?? [];
    const asking = steps.filter(
      ({ step, load }) => load !== undefined || SPECIAL.includes(step) || (step === 'pack' && isSterile(carried)),
    );
    return {
      found: [
        ...asking.flatMap((one) => {
          const parts = partsOfStep(carried, one);
          if (one.load === undefined) return told(carried, 'no load', parts);
          const load = carried.pinned('process-load', one.load);
          if (load === undefined) return told(carried, 'load not on record', parts);
          if (load.body.step !== one.step) return told(carried, 'load of another step', parts);
          return told(
            carried,
            'not in the load',
            parts.filter((part) => !partsIn(load).includes(part)),
          );
        }),
        ...loads.flatMap((load) => {
          const named = steps.filter((one) => one.load === load.key).flatMap((one) => partsOfStep(carried, one));
          return told(
            carried,
            'no step names the load',
            ownIn(carried, load).filter((part) => !named.includes(part)),
          );
        }),
        ...loads.flatMap((load, index) =>
          loads
            .slice(index + 1)
            .filter((other) => areAtOnce(load.body, other.body))
            .flatMap((other) =>
              told(
                carried,
                'in two loads at once',
                ownIn(carried, load).filter((part) => partsIn(other).includes(part)),
              ),
            ),
        ),
      ],
      applies: asking.length > 0 || loads.length > 0,
    };
  },

  'loads-kept': (carried) => {
    const loads = loadsOf(carried);
    return {
      found: loads.flatMap((load) => {
        const own = ownIn(carried, load);
        const again = own.filter((part) => isAgain(carried, load, part));
        const last = own.filter((part) => !again.includes(part));
        return faultsOf(load).flatMap(([rule, effect]) => [
          ...told(carried, rule, last, effect),
          ...told(carried, `${rule}, done again`, again, D),
        ]);
      }),
      applies: loads.length > 0,
    };
  },

  'loads-accepted': (carried) => {
    const asked = loadsOf(carried).filter(
      (load) =>
        ['coat', 'sterilise'].includes(load.body.step) &&
        ownIn(carried, load).some((part) => !isAgain(carried, load, part)),
    );
    return {
      found: asked
        .filter(({ digest, body }) => !carried.signed(digest, 'approved').some(({ person }) => person.code !== body.by))
        .flatMap((load) => told(carried, 'not accepted', ownIn(carried, load), { ...BLOCKS, isWant: true })),
      applies: asked.length > 0,
    };
  },

  'holds-kept': (carried) => {
    const { holds = [], openPouchHours } = carried.specification.body;
    const isDone = (step: string) => (carried.lot.steps ?? []).some((one: Json) => one.step === step);
    const asked: Json[] = holds.filter(({ to }: Json) => isDone(to));
    const isPouchAsked = openPouchHours !== undefined && isDone('pack');
    return {
      found: carried.implants.flatMap((implant) => [
        ...asked.flatMap((hold) => waits(carried, implant, hold)),
        ...(isPouchAsked ? openPouch(carried, implant.serial, openPouchHours) : []),
      ]),
      applies: asked.length > 0 || isPouchAsked,
    };
  },
};
