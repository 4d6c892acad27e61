import { chainContradictions } from './build-chain.js';
import { type Contradiction, repeated } from './kind.js';
import type { Coupon, Implant, Lot } from './lot.js';

function unknown(field: string, found: string, what: string): Contradiction {
  return {
    field,
    found,
    expected: `a ${what} that this file declares`,
    remedy: `declare the ${what} or correct the spelling`,
  };
}

function partContradictions(part: Implant | Coupon, field: string, builds: ReadonlySet<string>): Contradiction[] {
  return [
    ...(builds.has(part.build) ? [] : [unknown(`${field}.build`, part.build, 'build')]),
    ...(part.alsoIn ?? []).flatMap((build, index) =>
      builds.has(build) ? [] : [unknown(`${field}.alsoIn[${index}]`, build, 'build')],
    ),
    ...part.zones.flatMap((zone, index) =>
      zone.layers.from > zone.layers.to
        ? [
            {
              field: `${field}.zones[${index}].layers`,
              found: `${zone.layers.from} to ${zone.layers.to}`,
              expected: 'from not above to',
              remedy: 'swap the two ends',
            },
          ]
        : [],
    ),
  ];
}

/** Parts that steps, invalid tests and replacements name must be parts of this lot. */
function namesKnown(document: Lot, parts: ReadonlySet<string>): Contradiction[] {
  const named = [
    ...document.steps.flatMap((step, index) =>
      (step.parts ?? []).map((name, place) => ({ name, field: `steps[${index}].parts[${place}]` })),
    ),
    ...(document.invalidTests ?? []).map(({ result }, index) => ({
      name: result.specimen,
      field: `invalidTests[${index}].result.specimen`,
    })),
    ...(document.replacements ?? []).flatMap(({ replaces, by }, index) => [
      { name: replaces, field: `replacements[${index}].replaces` },
      { name: by, field: `replacements[${index}].by` },
    ]),
  ];
  return named.flatMap(({ name, field }) => (parts.has(name) ? [] : [unknown(field, name, 'implant or coupon')]));
}

/** What in a lot file cannot be true together with another part of it. */
export function lotContradictions(document: Lot): Contradiction[] {
  const builds = new Set(document.builds.map((build) => build.build));
  const serials = new Set(document.implants.map((implant) => implant.serial));
  const parts = [
    ...document.implants.map((part, index) => ({ part, code: part.serial, field: `implants[${index}]` })),
    ...document.coupons.map((part, index) => ({ part, code: part.coupon, field: `coupons[${index}]` })),
  ];
  const zones = parts.flatMap(({ part, field }) =>
    part.zones.map((zone, index) => ({ name: `${part.build} ${zone.zone}`, field: `${field}.zones[${index}].zone` })),
  );
  return [
    ...repeated(
      document.builds.map((build) => build.build),
      (index) => `builds[${index}].build`,
      'build',
    ),
    ...repeated(
      parts.map(({ code }) => code),
      (index) => parts[index]!.field,
      'implant or coupon',
    ),
    ...repeated(
      zones.map(({ name }) => name),
      (index) => zones[index]!.field,
      'zone of a build',
    ),
    ...document.builds.flatMap((build, index) =>
      Date.parse(build.openedAt) <= Date.parse(build.closedAt)
        ? [
            {
              field: `builds[${index}].openedAt`,
              found: build.openedAt,
              expected: `a moment after ${build.closedAt}`,
              remedy: 'correct one of the two times',
            },
          ]
        : [],
    ),
    ...chainContradictions(document),
    ...parts.flatMap(({ part, field }) => partContradictions(part, field, builds)),
    ...namesKnown(document, new Set(parts.map(({ code }) => code))),
    ...document.coupons.flatMap((coupon, index) =>
      coupon.standsFor.flatMap((serial, place) =>
        serials.has(serial) ? [] : [unknown(`coupons[${index}].standsFor[${place}]`, serial, 'implant')],
      ),
    ),
  ];
}
