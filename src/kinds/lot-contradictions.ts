import { chainContradictions, closuresOf, partsMadeIn } from './build-chain.js';
import { type Contradiction, repeated } from './kind.js';
import type { Coupon, Implant, Lot } from './lot.js';
import { afterBuildFaults } from './lot-after-faults.js';
import { inputFaults } from './lot-input-faults.js';

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
    ...(part.alsoIn ?? []).flatMap(({ build }, index) =>
      builds.has(build) ? [] : [unknown(`${field}.alsoIn[${index}].build`, build, 'build')],
    ),
    ...repeated(
      closuresOf(part),
      (index) => (index === 0 ? `${field}.build` : `${field}.alsoIn[${index - 1}].build`),
      'closure of this part',
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

/** Powder may be left out only where all that a closure does is to finish what other closures deposited. */
function missingPowder(document: Lot): Contradiction[] {
  return document.builds.flatMap(({ build, powder }, index) => {
    const parts = partsMadeIn(document, build);
    if (powder.length > 0 || (parts.length > 0 && parts.every(({ isFinishing }) => isFinishing))) return [];
    const depositing = parts.find(({ isFinishing }) => !isFinishing);
    const code = depositing && ('serial' in depositing ? depositing.serial : depositing.coupon);
    return [
      {
        field: `builds[${index}].powder`,
        found: code === undefined ? 'no powder' : `no powder, and ${code} built there`,
        expected: 'the powder states that went in, with their masses',
        remedy:
          'name the powder; where the parts were only finished, name this closure under their alsoIn, with the steps',
      },
    ];
  });
}

/** Parts that steps, invalid tests, fates, scans and replacements name must be parts of this lot. */
export function namesKnown(document: Lot, parts: ReadonlySet<string>): Contradiction[] {
  const named = [
    ...document.steps.flatMap((step, index) =>
      (step.parts ?? []).map((name, place) => ({ name, field: `steps[${index}].parts[${place}]` })),
    ),
    ...(document.invalidTests ?? []).map(({ result }, index) => ({
      name: result.specimen,
      field: `invalidTests[${index}].result.specimen`,
    })),
    ...(document.fates ?? []).map(({ part }, index) => ({ name: part, field: `fates[${index}].part` })),
    ...(document.scans ?? []).map(({ specimen }, index) => ({ name: specimen, field: `scans[${index}].specimen` })),
    ...(document.replacements ?? []).flatMap(({ replaces, by }, index) => [
      { name: replaces, field: `replacements[${index}].replaces` },
      { name: by, field: `replacements[${index}].by` },
    ]),
  ];
  return named.flatMap(({ name, field }) => (parts.has(name) ? [] : [unknown(field, name, 'implant or coupon')]));
}

/** A lot has builds of its own, or its units were built in another one: builds never merge. */
function buildsAndOrigin({ lot, splitFrom, ...document }: Lot): Contradiction[] {
  if (splitFrom === undefined) {
    if (document.builds.length > 0) return [];
    return [
      {
        field: 'builds',
        found: 'no build',
        expected: 'at least one build',
        remedy: 'name the builds; of a lot that was split from another, name that one under splitFrom',
      },
    ];
  }
  const own = (['builds', 'implants', 'coupons'] as const).filter((field) => document[field].length > 0);
  return [
    ...own.map((field) => ({
      field,
      found: `${field} of its own, and units of lot ${splitFrom}`,
      expected: 'one of both: units of different builds are never one lot',
      remedy: `leave out ${field}: they stand in the document of lot ${splitFrom}. Else leave out splitFrom`,
    })),
    ...(splitFrom === lot
      ? [{ field: 'splitFrom', found: splitFrom, expected: 'another lot', remedy: 'correct one of the two codes' }]
      : []),
  ];
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
    part.zones.flatMap((zone, index) =>
      closuresOf(part).map((build) => ({ name: `${build} ${zone.zone}`, field: `${field}.zones[${index}].zone` })),
    ),
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
    ...missingPowder(document),
    ...inputFaults(document),
    ...afterBuildFaults(document),
    ...parts.flatMap(({ part, field }) => partContradictions(part, field, builds)),
    // Which parts came over into a lot that was split from another, the moves say: intake asks it of them.
    ...(document.splitFrom === undefined ? namesKnown(document, new Set(parts.map(({ code }) => code))) : []),
    ...buildsAndOrigin(document),
    ...document.coupons.flatMap((coupon, index) =>
      coupon.standsFor.flatMap((serial, place) =>
        serials.has(serial) ? [] : [unknown(`coupons[${index}].standsFor[${place}]`, serial, 'implant')],
      ),
    ),
  ];
}
