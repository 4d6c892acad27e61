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

export const CHECKS_OF_LINES: Readonly<Record<string, Asked>> = {
  'changeover-done': (carried) => {
    const { alloy } = carried.allPinned('family')[0].body;
    const all = carried.builds.flatMap((build) => {
      const last = lastChangeover(carried, build);
      const ready = last?.toAlloy ?? carried.pinned('machine', build.machine)?.body.alloys?.[0];
      return ready === undefined ? [] : [{ build, last, ready, units: implantsOfBuild(carried, build.build) }];
    });
    return {
      found: all.flatMap(({ build, last, ready, units }): Found[] => [
        ...(ready === alloy ? [] : [found('ready for another alloy', units, C)]),
        ...(build.changeover === undefined || build.changeover === last?.changeover
          ? []
          : [found('not the last one', units, C)]),
        ...(last === undefined || last.purge !== undefined ? [] : [found('not purged', units, C)]),
        ...(last?.verified.result === 'failed' ? [found('something was left', units, { ...FAILS, ...C })] : []),
      ]),
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
