import type { Facts, Recorded } from '../../dossier/facts.js';
import { logsOf } from '../../kinds/log-files.js';
import type { Build } from '../../kinds/lot.js';
import type { StoragePlace } from '../../kinds/storage-place.js';
import { coverageOf, WHOLE_BUILD } from '../coverage.js';
import { type PlaceStay, staysIn } from '../place-stays.js';
import { troubleWith } from './calibration-valid.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** A sensor with the channels of one build that it stands behind. */
interface Sensor {
  readonly build: Build;
  readonly instrument: string;
  readonly channels: string[];
}

export const logSensorsCalibrated: Check = {
  code: 'log-sensors-calibrated',
  since: 1,
  clause: 'ISO 13485:2016 7.6',
  moment: 'sterilisation',
  run(facts) {
    const sensors = facts.lot.body.builds.flatMap(sensorsOf);
    const ofPlaces = [...facts.places.values()].flatMap((place) => sensorsOfPlace(facts, place));
    const unnamed = facts.lot.body.builds.flatMap(channelsWithoutSensor);
    return {
      findings: [
        ...sensors.flatMap((sensor) => sensorFinding(facts, sensor)),
        ...ofPlaces.flatMap((sensor) => placeFindings(facts, sensor)),
      ],
      basis: {
        instruments: [...new Set([...sensors, ...ofPlaces].map(({ instrument }) => instrument))].sort().join(', '),
        unnamed: [...new Set(unnamed)].sort().join(', '),
      },
      doesNotApply: sensors.length + ofPlaces.length === 0,
    };
  },
};

function sensorsOf(build: Build): Sensor[] {
  const sensors = new Map<string, Sensor>();
  for (const { channel, instrument } of logsOf(build).flatMap(({ log }) => log.channels)) {
    if (instrument === undefined) continue;
    const sensor = sensors.get(instrument) ?? { build, instrument, channels: [] };
    sensor.channels.push(channel);
    sensors.set(instrument, sensor);
  }
  return [...sensors.values()];
}

const channelsWithoutSensor = (build: Build): string[] =>
  logsOf(build)
    .flatMap(({ log }) => log.channels)
    .flatMap(({ channel, instrument }) => (instrument === undefined ? [channel] : []));

/** A calibration must hold at closing and still at opening the chamber. */
function sensorFinding(facts: Facts, { build, instrument, channels }: Sensor): FindingDraft[] {
  const sensor = facts.instruments.get(instrument);
  if (sensor === undefined) return [];
  const { title, calibrations } = sensor.body;
  const trouble = troubleWith(calibrations, build.closedAt) ?? troubleWith(calibrations, build.openedAt);
  if (trouble === undefined) return [];
  return [
    {
      ...trouble,
      subjects: [subject('instrument', instrument), subject('build', build.build)],
      facts: { ...trouble.facts, instrument, title, build: build.build, channels: channels.join(', ') },
      effect: 'cannot be decided',
      units: [...coverageOf(facts, { build: build.build, places: WHOLE_BUILD }).implants],
    },
  ];
}

/** A sensor of a place in which something of the lot lay. */
interface PlaceSensor {
  readonly place: string;
  readonly instrument: string;
  readonly channels: readonly string[];
  readonly stays: readonly PlaceStay[];
}

function sensorsOfPlace(facts: Facts, place: Recorded<StoragePlace>): PlaceSensor[] {
  const stays = staysIn(facts, place);
  if (stays.length === 0) return [];
  const channels = new Map<string, string[]>();
  for (const { channel, instrument } of place.body.instruments) {
    channels.set(instrument, [...(channels.get(instrument) ?? []), channel]);
  }
  return [...channels].map(([instrument, own]) => ({ place: place.body.place, instrument, channels: own, stays }));
}

/** A calibration must hold when a part came and still when it left. Each trouble is told once, with all whom it concerns. */
function placeFindings(facts: Facts, { place, instrument, channels, stays }: PlaceSensor): FindingDraft[] {
  const sensor = facts.instruments.get(instrument);
  if (sensor === undefined) return [];
  const { title, calibrations } = sensor.body;
  const found = new Map<string, FindingDraft & { readonly units: string[] }>();
  for (const { from, to, units } of stays) {
    const [came, left] = [new Date(from).toISOString(), new Date(to).toISOString()];
    const trouble = troubleWith(calibrations, came) ?? troubleWith(calibrations, left);
    if (trouble === undefined) continue;
    const known = found.get(trouble.rule);
    if (known) known.units.push(...units.filter((unit) => !known.units.includes(unit)));
    else
      found.set(trouble.rule, {
        ...trouble,
        subjects: [subject('instrument', instrument), subject('storage-place', place)],
        facts: { ...trouble.facts, instrument, title, place, channels: channels.join(', ') },
        effect: 'cannot be decided',
        units: [...units],
      });
  }
  return [...found.values()];
}
