import type { Characteristic } from './specification.js';

/** A part as a specification looks at it. */
export interface PlannedPart {
  readonly code: string;
  readonly is: 'implant' | 'coupon';
  /** Classes of its zones, by the recipe. */
  readonly zoneClasses: ReadonlySet<string>;
}

/** A value that a result sheet waits for. */
export interface PlannedValue {
  readonly specimen: string;
  readonly item: Characteristic;
  /** Of all values of the characteristic on the specimen, counted from 1. */
  readonly replicate: number;
}

/**
 * The values that a specification asks for on these parts, part by part. Exposures and shapes have documents of their own:
 * a sheet holds what is measured.
 */
export const plannedValues = (items: readonly Characteristic[], parts: readonly PlannedPart[]): PlannedValue[] =>
  parts.flatMap(({ code, is, zoneClasses }) =>
    items
      .filter(({ measuredOn, source = 'measured' }) => measuredOn === is && source === 'measured')
      .filter(({ zoneClass }) => is === 'implant' || zoneClass === undefined || zoneClasses.has(zoneClass))
      .flatMap((item) =>
        Array.from({ length: item.replicates }, (_, index) => ({ specimen: code, item, replicate: index + 1 })),
      ),
  );
