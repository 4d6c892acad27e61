import { StepAfterBuild } from './fields.js';
import { type Contradiction, repeated } from './kind.js';

/** What of a specification these rules look at. */
interface Told {
  readonly characteristics: readonly {
    readonly characteristic: string;
    readonly zoneClass?: string | undefined;
    readonly deposited?: string | undefined;
  }[];
  readonly validations?: readonly { readonly validation: string }[] | undefined;
  readonly depositedMetal?:
    | readonly (Limited & { readonly property: string; readonly validation: string })[]
    | undefined;
  readonly holds?: readonly { readonly from: string; readonly to: string }[] | undefined;
  readonly unmeasured?: readonly { readonly zoneClass: string }[] | undefined;
  readonly builtOnStock?: { readonly interface: readonly ToldOfInterface[] } | undefined;
  readonly shape?:
    | {
        readonly leastScannedPercent: string;
        readonly unseen?:
          | readonly {
              readonly zoneClass: string;
              readonly leastScannedPercent: string;
              readonly shownBy?: string | undefined;
            }[]
          | undefined;
      }
    | undefined;
}

interface ToldOfInterface {
  readonly tells: string;
  readonly characteristic?: string;
}

interface Limited {
  readonly lower?: string | undefined;
  readonly upper?: string | undefined;
  readonly target?: string | undefined;
}

/** Limits that are there, and in order. */
export function limitsInOrder(item: Limited, field: string): Contradiction[] {
  const { lower, upper, target } = item;
  if (lower === undefined && upper === undefined) {
    return [
      {
        field,
        found: 'no limit',
        expected: 'a lower limit, an upper limit, or both',
        remedy: 'state at least one limit',
      },
    ];
  }
  const low = lower === undefined ? Number.NEGATIVE_INFINITY : Number(lower);
  const high = upper === undefined ? Number.POSITIVE_INFINITY : Number(upper);
  if (low >= high) {
    return [
      { field, found: `lower ${lower}, upper ${upper}`, expected: 'lower below upper', remedy: 'correct the limits' },
    ];
  }
  if (target !== undefined && (Number(target) < low || Number(target) > high)) {
    return [
      { field: `${field}.target`, found: target, expected: 'a target within the limits', remedy: 'correct the target' },
    ];
  }
  return [];
}

/** What is relied on is named where the lot file pins it from. */
export const unnamed = (validation: string, field: string): Contradiction => ({
  field,
  found: validation,
  expected: 'a process validation that this specification names under validations',
  remedy: 'add it there with its revision, or correct the spelling',
});

const STEPS: readonly string[] = ['build', ...StepAfterBuild.options];

/** What is analysed on coupons needs no interval, and a validation is one that the specification names. */
export function depositedFaults({ depositedMetal = [], characteristics, validations = [] }: Told): Contradiction[] {
  const analysed = new Set(characteristics.map(({ deposited }) => deposited));
  return [
    ...repeated(
      depositedMetal.map(({ property }) => property),
      (index) => `depositedMetal[${index}].property`,
      'property',
    ),
    ...depositedMetal.flatMap((limit, index) => {
      const field = `depositedMetal[${index}]`;
      return [
        ...limitsInOrder(limit, field),
        ...(validations.some(({ validation }) => validation === limit.validation)
          ? []
          : [unnamed(limit.validation, `${field}.validation`)]),
        ...(analysed.has(limit.property)
          ? [
              {
                field: `${field}.property`,
                found: `${limit.property}, which a characteristic has analysed in each lot`,
                expected: 'a property that no characteristic names under deposited',
                remedy: 'keep one of the two: an analysis of each lot, or the interval',
              },
            ]
          : []),
      ];
    }),
  ];
}

/** Between two steps there is one longest time, and the second comes after the first. */
export function holdFaults({ holds = [] }: Pick<Told, 'holds'>): Contradiction[] {
  return [
    ...repeated(
      holds.map(({ from, to }) => `${from} to ${to}`),
      (index) => `holds[${index}]`,
      'hold',
    ),
    ...holds.flatMap(({ from, to }, index) =>
      from === to
        ? [
            {
              field: `holds[${index}].to`,
              found: to,
              expected: `another step than ${from}`,
              remedy: `name the step that follows: one of ${STEPS.join(', ')}`,
            },
          ]
        : [],
    ),
  ];
}

/** A class of zones is measured, or it is said why not. */
export function unmeasuredFaults({
  unmeasured = [],
  characteristics,
}: Pick<Told, 'unmeasured' | 'characteristics'>): Contradiction[] {
  return [
    ...repeated(
      unmeasured.map(({ zoneClass }) => zoneClass),
      (index) => `unmeasured[${index}].zoneClass`,
      'zone class',
    ),
    ...unmeasured.flatMap(({ zoneClass }, index) => {
      const measured = characteristics.find((item) => item.zoneClass === zoneClass);
      if (measured === undefined) return [];
      return [
        {
          field: `unmeasured[${index}].zoneClass`,
          found: `${zoneClass}, in which ${measured.characteristic} is measured`,
          expected: 'a zone class that no characteristic names',
          remedy: 'take it out, or correct the zone class of the characteristic',
        },
      ];
    }),
  ];
}

/** What tells of the place where new metal meets stock: each property once, by a characteristic that there is. */
export function builtOnStockFaults({ builtOnStock, characteristics }: Told): Contradiction[] {
  const told = builtOnStock?.interface ?? [];
  return [
    ...repeated(
      told.map(({ tells, characteristic = 'not measured' }) => `${tells}, ${characteristic}`),
      (index) => `builtOnStock.interface[${index}]`,
      'line of the interface',
    ),
    ...told.flatMap(({ characteristic }, index) =>
      characteristic === undefined
        ? []
        : notThere(characteristics, characteristic, `builtOnStock.interface[${index}].characteristic`),
    ),
  ];
}

/** Of a class of zones that no scanner sees less is asked, and what tells of the rest is a characteristic that there is. */
export function shapeFaults({ shape, characteristics }: Told): Contradiction[] {
  const unseen = shape?.unseen ?? [];
  return [
    ...repeated(
      unseen.map(({ zoneClass }) => zoneClass),
      (index) => `shape.unseen[${index}].zoneClass`,
      'class of zones',
    ),
    ...unseen.flatMap(({ leastScannedPercent, shownBy }, index) => [
      ...(Number(leastScannedPercent) < Number(shape!.leastScannedPercent)
        ? []
        : [
            {
              field: `shape.unseen[${index}].leastScannedPercent`,
              found: leastScannedPercent,
              expected: `less than the ${shape!.leastScannedPercent} % that is asked of all other zones`,
              remedy: 'correct one of the two, or remove the line',
            },
          ]),
      ...(shownBy === undefined ? [] : notThere(characteristics, shownBy, `shape.unseen[${index}].shownBy`)),
    ]),
  ];
}

const notThere = (all: Told['characteristics'], code: string, field: string): Contradiction[] =>
  all.some(({ characteristic }) => characteristic === code)
    ? []
    : [
        {
          field,
          found: code,
          expected: 'a characteristic of this specification',
          remedy: 'add it under characteristics, or correct the spelling',
        },
      ];
