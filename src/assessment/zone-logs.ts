import type { Facts } from '../dossier/facts.js';

/** One channel in one zone and step of a build, over all layers of the zone. */
export interface ZoneChannel {
  readonly channel: string;
  readonly ucum: string;
  readonly min: number;
  readonly max: number;
  /** Weighted by the time that the channel was seen, or by rows where no time is known. */
  readonly mean: number;
}

interface Sum {
  readonly channel: string;
  readonly ucum: string;
  min: number;
  max: number;
  weighted: number;
  weight: number;
}

const placeOf = (build: string, zone: string, step: string): string => [build, zone, step].join('\n');

/** What was logged where, for the zones of a lot; made in one walk over the log summaries. */
export function zoneLogs({ summaries }: Facts): (build: string, zone: string, step: string) => ZoneChannel[] {
  const places = new Map<string, Map<string, Sum>>();
  for (const row of summaries) {
    if (row.n === '0' || row.zone === '') continue;
    const place = placeOf(row.build, row.zone, row.step);
    const channels = places.get(place) ?? new Map<string, Sum>();
    places.set(place, channels);
    const [min, max] = [Number(row.min), Number(row.max)];
    const timed = row.timeWeightedMean !== '' && Number(row.observedMs) > 0;
    const weight = timed ? Number(row.observedMs) : Number(row.n);
    const weighted = weight * Number(timed ? row.timeWeightedMean : row.mean);
    const known = channels.get(row.channel);
    if (known === undefined)
      channels.set(row.channel, { channel: row.channel, ucum: row.ucum, min, max, weighted, weight });
    else {
      known.min = Math.min(known.min, min);
      known.max = Math.max(known.max, max);
      known.weighted += weighted;
      known.weight += weight;
    }
  }
  return (build, zone, step) =>
    [...(places.get(placeOf(build, zone, step))?.values() ?? [])].map(({ weighted, weight, ...channel }) => ({
      ...channel,
      mean: weighted / weight,
    }));
}
