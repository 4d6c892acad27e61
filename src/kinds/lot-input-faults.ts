import { compareDecimal, sumDecimals } from '../base/decimal.js';
import { partsMadeIn } from './build-chain.js';
import { type Contradiction, repeated, tooEarly } from './kind.js';
import type { Build, Lot } from './lot.js';

type Charged = Build['powder'][number];

/** No more comes out of a charge than was filled in, and it goes somewhere else. */
function chargeFaults(powder: Charged, state: Build['state'], field: string): Contradiction[] {
  const { chargedG, depositedG, recoveredG, recoveredInto, wasteG } = powder;
  const found: Contradiction[] = [];
  const parts = [depositedG, recoveredG, wasteG].filter((part) => part !== undefined);
  const out = sumDecimals(parts);
  if (compareDecimal(out, chargedG) > 0) {
    found.push({
      field: `${field}.chargedG`,
      found: `${out} g deposited, recovered and wasted`,
      expected: `at most the ${chargedG} g that were filled in`,
      remedy: 'correct the mass that is wrong',
    });
  }
  if (state === 'planned' && parts.length > 0) {
    found.push({
      field,
      found: `${out} g that came out of a build that is only planned`,
      expected: 'nothing but what is to be filled in',
      remedy: 'remove these masses until it was built, or correct the state of the build',
    });
  }
  if (recoveredInto !== undefined && (recoveredG === undefined || Number(recoveredG) === 0)) {
    found.push({
      field: `${field}.recoveredInto`,
      found: `${recoveredInto}, and nothing recovered`,
      expected: 'recoveredG beside it',
      remedy: 'say how many grams went into it, or remove the field',
    });
  }
  if (recoveredInto === powder.state) {
    found.push({
      field: `${field}.recoveredInto`,
      found: `${recoveredInto}, from which it was taken`,
      expected: 'a powder state of its own for what was recovered',
      remedy: 'enter what was recovered as a new powder state, and name it here',
    });
  }
  return found;
}

/** What in the powder, gas and consumables of a build cannot be true together. */
export function inputFaults(document: Lot): Contradiction[] {
  return document.builds.flatMap((build, index) => {
    const field = `builds[${index}]`;
    const { powder, gas, consumables = [] } = build;
    const zones = new Set(partsMadeIn(document, build.build).flatMap((part) => part.zones.map(({ zone }) => zone)));
    return [
      ...powder.flatMap((item, place) => chargeFaults(item, build.state, `${field}.powder[${place}]`)),
      ...repeated(
        powder.map(({ state }) => state),
        (place) => `${field}.powder[${place}].state`,
        'powder state',
      ),
      ...repeated(
        gas.map(({ receipt, bottle, from }) => [receipt, bottle, from].filter((part) => part !== undefined).join(', ')),
        (place) => `${field}.gas[${place}].receipt`,
        'receipt',
      ),
      ...gas.flatMap(({ from }, place) => [
        ...tooEarly(`${field}.gas[${place}].from`, from, build.closedAt, 'the chamber was closed'),
        ...tooEarly(`${field}.openedAt`, build.openedAt, from, 'the gas was changed'),
      ]),
      ...repeated(
        consumables.map(({ consumable, step, zones: at = [] }) => [consumable, step, ...at].join(', ')),
        (place) => `${field}.consumables[${place}].consumable`,
        'use',
      ),
      ...consumables.flatMap(({ zones: at = [] }, place) =>
        at.flatMap((zone, number) =>
          zones.has(zone)
            ? []
            : [
                {
                  field: `${field}.consumables[${place}].zones[${number}]`,
                  found: zone,
                  expected: 'a zone of an implant or coupon of this build',
                  remedy: 'correct the spelling, or leave the zones out where it was used in all',
                },
              ],
        ),
      ),
      ...tooEarly(`${field}.closedAt`, build.closedAt, build.lineClearance?.at, 'the line was cleared'),
    ];
  });
}
