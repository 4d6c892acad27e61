import type { Facts } from '../../dossier/facts.js';
import { logsOf } from '../../kinds/log-files.js';
import type { Build } from '../../kinds/lot.js';
import { coverageOf, WHOLE_BUILD } from '../coverage.js';
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
    const unnamed = facts.lot.body.builds.flatMap(channelsWithoutSensor);
    return {
      findings: sensors.flatMap((sensor) => sensorFinding(facts, sensor)),
      basis: {
        instruments: [...new Set(sensors.map(({ instrument }) => instrument))].sort().join(', '),
        unnamed: [...new Set(unnamed)].sort().join(', '),
      },
      doesNotApply: sensors.length === 0,
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
