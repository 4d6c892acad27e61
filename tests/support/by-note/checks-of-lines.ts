import { type Carried, type Json, moment } from './carried.js';
import type { Asked } from './checks.js';
import { implantsOfBuild } from './closures.js';
import { C, FAILS, type Found, found } from './words.js';

/** What was before a chamber closed, beside its material: another alloy, another case. */

function lastChangeover(carried: Carried, { machine, closedAt }: Json): Json | undefined {
  return carried
    .allPinned('changeover')
    .map(({ body }) => body)
    .filter((body: Json) => body.machine === machine && moment(body.at) <= moment(closedAt))
    .reduce(
      (last: Json, one: Json) => (last !== undefined && moment(last.at) > moment(one.at) ? last : one),
      undefined,
    );
}

/** Each use of something that wears out, by a closure of the lot or a load in which a part of it was. */
function usesOf(carried: Carried) {
  const parts = [...carried.serials, ...carried.coupons.map(({ coupon }) => coupon)];
  const loads = carried
    .allPinned('process-load')
    .map(({ body }) => body)
    .filter(({ implants = [], coupons = [] }: Json) => parts.some((one) => [...implants, ...coupons].includes(one)));
  const used = [
    ...carried.builds.map((build) => ({
      ...{ uses: build.consumables, at: build.closedAt, units: implantsOfBuild(carried, build.build), build },
    })),
    ...carried.builds.map((build) => ({
      uses: (build.gas ?? [])
        .filter(({ bottle }: Json) => bottle !== undefined)
        .map(({ bottle }: Json) => ({ consumable: bottle })),
      ...{ at: build.closedAt, units: implantsOfBuild(carried, build.build), build },
    })),
    ...loads.map(({ consumables, at, implants = [] }: Json) => ({
      ...{
        uses: consumables,
        at,
        units: carried.serials.filter((serial) => implants.includes(serial)),
        build: undefined,
      },
    })),
  ];
  return used.flatMap(({ uses, at, units, build }) =>
    ((uses ?? []) as Json[]).flatMap(({ consumable }) => {
      const body = carried.pinned('consumable', consumable)?.body;
      return body === undefined ? [] : [{ body, at, units, build }];
    }),
  );
}

export const CHECKS_OF_LINES: Readonly<Record<string, Asked>> = {
  'changeover-done': (carried) => {
    const { alloy } = carried.allPinned('family')[0].body;
    const all = carried.builds.flatMap((build) => {
      const last = lastChangeover(carried, build);
      const ready = last?.toAlloy ?? carried.pinned('machine', build.machine)?.body.alloys?.[0];
      return ready === undefined && build.changeover === undefined
        ? []
        : [{ build, last, ready, units: implantsOfBuild(carried, build.build) }];
    });
    return {
      found: all.flatMap(({ build, last, ready, units }): Found[] => [
        ...(ready === undefined || ready === alloy ? [] : [found('ready for another alloy', units, C)]),
        ...(build.changeover === undefined || build.changeover === last?.changeover
          ? []
          : [found('not the last one', units, C)]),
        ...(last === undefined || last.purge !== undefined ? [] : [found('not purged', units, C)]),
        ...(last?.verified.result === 'failed' ? [found('something was left', units, { ...FAILS, ...C })] : []),
      ]),
      applies: all.length > 0,
    };
  },

  'consumables-within-limit': (carried) => {
    const all = usesOf(carried);
    const counted: Json[] = carried.json('consumable-uses.json')?.uses ?? [];
    return {
      found: all.flatMap(({ body, at, units, build }): Found[] => {
        const gas = build?.gas?.find(({ bottle }: Json) => bottle === body.consumable);
        const { material, revision } = body.materialSpecification ?? {};
        const most = carried.pinned('material-specification', material, revision)?.body.inUseLimit ?? {};
        const uses = counted
          .filter((one) => one.consumable === body.consumable && moment(one.at) <= moment(at))
          .reduce((sum, one) => sum + one.uses, 0);
        const hours = (moment(at) - moment(body.inUseFrom)) / 3_600_000;
        return [
          ...(build && body.machine !== undefined && body.machine !== build.machine
            ? [found('on another machine', units, C)]
            : []),
          ...(gas && body.made.every(({ receipt }: Json) => receipt !== gas.receipt)
            ? [found('filled from another receipt', units, C)]
            : []),
          ...(hours < 0 ? [found('not in use yet', units, C)] : []),
          ...(body.retiredAt !== undefined && moment(body.retiredAt) < moment(at)
            ? [found('used after its use ended', units, C)]
            : []),
          ...(most.uses !== undefined && uses > most.uses ? [found('used too often', units, C)] : []),
          ...(most.hours !== undefined && hours > Number(most.hours) ? [found('used too long', units, C)] : []),
        ];
      }),
      applies: all.length > 0,
    };
  },

  'line-cleared': (carried) => {
    const asked = carried.builds.filter(({ machine }) => carried.pinned('machine', machine)?.body.clearance === 'yes');
    return {
      found: asked.flatMap(({ build, closedAt, operator, lineClearance: seen }): Found[] => {
        const units = implantsOfBuild(carried, build);
        if (seen === undefined) return [found('nobody looked', units, C)];
        if (moment(seen.at) > moment(closedAt)) return [found('looked after it closed', units, C)];
        return seen.by === operator ? [found('by whoever ran it', units, C)] : [];
      }),
      applies: asked.length > 0,
    };
  },
};
