import type { SeriesFacts } from './observation.js';

const US_PER_SECOND = 1_000_000;

/** The values of a time series with their times, or what is wrong with it. */
export interface ReadSeries {
  readonly texts: readonly string[];
  /** Microseconds from one value to the next. */
  readonly stepUs: number;
  /** What of it contradicts itself, as it stands there: count, rate, and how many values there are. */
  readonly fault: string | null;
}

/**
 * Reads a time series: the time of the observation is that of its last value, and the rate of the observation counts
 * before that of the data item (MTConnect Part 3, representation TIME_SERIES).
 * @param declaredHz the rate of the data item as the channel map says it.
 */
export function readSeries(value: string, facts: SeriesFacts, declaredHz: number | undefined): ReadSeries {
  const texts = value === '' ? [] : value.split(/\s+/);
  const rate = facts.sampleRate === '' ? declaredHz : Number(facts.sampleRate);
  const fits = Number(facts.sampleCount) === texts.length && rate !== undefined && rate > 0 && Number.isFinite(rate);
  if (!fits) return { texts: [], stepUs: 0, fault: JSON.stringify({ ...facts, values: texts.length }) };
  return { texts, stepUs: US_PER_SECOND / rate, fault: null };
}
