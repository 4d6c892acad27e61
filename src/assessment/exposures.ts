import { hoursOf } from '../degradation/exposure-rates.js';
import { isSameDuration } from '../dossier/exposed.js';
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

/** Both ends of 37 ± 1 °C (docs/trade.md 8.4). */
const MOST_APART_C = 2;

const TOLD: Readonly<Record<Exclude<Apart, 'temperature' | 'duration'>, (exposure: Exposure) => string>> = {
  medium: ({ medium }) => `${medium.medium} revision ${medium.revision}`,
  method: ({ protocol }) => `${protocol.method} revision ${protocol.revision}`,
  face: ({ face }) => face,
  sterilisation: ({ sterilisedIn }) => (sterilisedIn === undefined ? 'no' : 'yes'),
  flow: ({ flowMlPerMin }) => (flowMlPerMin === undefined ? 'at rest' : `${flowMlPerMin} mL/min`),
  gas: ({ gas }) => gas ?? 'none named',
};

/** In what two exposures differ so that their values do not stand together, and how each has it. */
export function apart(a: Exposure, b: Exposure, isOverTime: boolean): readonly { what: Apart; a: string; b: string }[] {
  const differing = Object.entries(TOLD).flatMap(([what, of]) =>
    of(a) === of(b) ? [] : [{ what: what as Apart, a: of(a), b: of(b) }],
  );
  if (Math.abs(Number(a.temperatureC) - Number(b.temperatureC)) > MOST_APART_C) {
    differing.push({ what: 'temperature', a: `${a.temperatureC} °C`, b: `${b.temperatureC} °C` });
  }
  const [first, second] = [hoursOf(a) ?? 0, hoursOf(b) ?? 0];
  if (isOverTime || isSameDuration(first, second)) return differing;
  return [...differing, { what: 'duration', a: `${round(first)} h`, b: `${round(second)} h` }];
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
