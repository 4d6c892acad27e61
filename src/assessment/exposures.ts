import { hoursOf } from '../degradation/exposure-rates.js';
import { flowText, gasText, isAsWarm, isSameDuration } from '../dossier/exposed.js';
import type { Facts } from '../dossier/facts.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import type { Characteristic } from '../kinds/specification.js';
import { currentResults, type NumberedResult } from './specimens.js';

/** What may differ between exposures whose values do not stand together (docs/trade.md 8.4). */
export type Apart = 'medium' | 'method' | 'face' | 'sterilisation' | 'flow' | 'gas' | 'temperature' | 'duration';

/** Exposures of a lot in the order of their keys. */
export const exposuresOf = ({ exposures }: Facts): Exposure[] => [...exposures.values()].map(({ body }) => body);

/** The value of the control material beside an exposure lies where it has to; undefined without one. */
export function isControlled({ control }: Exposure): boolean | undefined {
  if (control === undefined) return undefined;
  return Number(control.value) >= Number(control.min) && Number(control.value) <= Number(control.max);
}

/** Exposures in one bath: the same batch of medium at the same time, at least in part. */
export function shareBath(a: Exposure, b: Exposure): boolean {
  const end = ({ to }: Exposure) => (to === undefined ? Number.POSITIVE_INFINITY : Date.parse(to));
  return a.batch === b.batch && Date.parse(a.from) < end(b) && Date.parse(b.from) < end(a);
}

/** Exposures of which the control of their bath lay outside its range: what they say cannot be decided. */
export function uncontrolled(exposures: readonly Exposure[]): ReadonlySet<Exposure> {
  const off = exposures.filter((one) => isControlled(one) === false);
  return new Set(exposures.filter((one) => off.some((other) => shareBath(one, other))));
}

const TOLD: Readonly<Record<Exclude<Apart, 'temperature' | 'duration'>, (exposure: Exposure) => string>> = {
  medium: ({ medium }) => `${medium.medium} revision ${medium.revision}`,
  method: ({ protocol }) => `${protocol.method} revision ${protocol.revision}`,
  face: ({ face }) => face,
  sterilisation: ({ sterilisedIn }) => (sterilisedIn === undefined ? 'no' : 'yes'),
  flow: flowText,
  gas: gasText,
};

/** Two exposures whose values do not stand together, in what, and how each has it. */
export interface ExposuresApart {
  readonly what: Apart;
  readonly a: string;
  readonly b: string;
  readonly first: Exposure;
  readonly second: Exposure;
}

/**
 * In what exposures differ so that their values do not stand together, each thing once. What is a name is the same in all or
 * not; of temperatures and durations the lowest meets the highest, so that their order tells nothing.
 */
export function apart(exposures: readonly Exposure[], isOverTime: boolean): readonly ExposuresApart[] {
  const [first] = exposures;
  if (first === undefined) return [];
  const named = Object.entries(TOLD).flatMap(([what, of]): ExposuresApart[] => {
    const second = exposures.find((one) => of(one) !== of(first));
    return second ? [{ what: what as Apart, a: of(first), b: of(second), first, second }] : [];
  });
  const temperature = endsOf(exposures, ({ temperatureC }) => Number(temperatureC));
  const isWarmer = !isAsWarm(Number(temperature.second.temperatureC), Number(temperature.first.temperatureC));
  const duration = endsOf(exposures, (one) => hoursOf(one) ?? 0);
  const [shortest, longest] = [hoursOf(duration.first) ?? 0, hoursOf(duration.second) ?? 0];
  const celsius = ({ temperatureC }: Exposure) => `${temperatureC} °C`;
  return [
    ...named,
    ...(isWarmer
      ? [
          {
            ...{ what: 'temperature' as const, ...temperature },
            ...{ a: celsius(temperature.first), b: celsius(temperature.second) },
          },
        ]
      : []),
    ...(isOverTime || isSameDuration(shortest, longest)
      ? []
      : [{ what: 'duration' as const, a: `${round(shortest)} h`, b: `${round(longest)} h`, ...duration }]),
  ];
}

/** The first with the least, and the first with the most. */
function endsOf(exposures: readonly Exposure[], of: (exposure: Exposure) => number) {
  const end = (isBeyond: (one: number, other: number) => boolean) =>
    exposures.reduce((found, one) => (isBeyond(of(one), of(found)) ? one : found));
  return { first: end((one, other) => one < other), second: end((one, other) => one > other) };
}

const round = (hours: number): string => String(Number(hours.toFixed(1)));

export interface ExposedRow {
  readonly row: NumberedResult;
  readonly item: Characteristic;
  /** Undefined where no exposure is on record for it. */
  readonly exposure: Exposure | undefined;
}

/** Current results whose characteristic takes them from exposures, each with its exposure. */
export function exposedRows(facts: Facts): ExposedRow[] {
  const items = new Map(
    facts.specification.body.characteristics
      .filter(({ source }) => source === 'exposure')
      .map((item) => [item.characteristic, item]),
  );
  if (items.size === 0) return [];
  const keyOf = (specimen: string, piece: string, number: string) => `${specimen} ${piece} ${number}`;
  const known = new Map(exposuresOf(facts).map((one) => [keyOf(one.specimen, one.piece ?? '', one.exposure), one]));
  return currentResults(facts).flatMap((row) => {
    const item = items.get(row.characteristic);
    return item ? [{ row, item, exposure: known.get(keyOf(row.specimen, row.piece, row.replicate)) }] : [];
  });
}
