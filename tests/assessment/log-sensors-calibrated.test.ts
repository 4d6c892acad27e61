import { logSensorsCalibrated } from '../../src/assessment/checks/log-sensors-calibrated.js';
import type { Facts } from '../../src/dossier/facts.js';
import { findingWords } from '../../src/report/assessment-words.js';

/** A sensor must be in calibration from closing to opening the chamber (ISO 13485:2016, 7.6). */

const calibration = (at: string, due: string, changes: Record<string, string> = {}) => ({
  certificate: `K-${at.slice(0, 4)}`,
  at,
  due,
  asFound: 'in tolerance',
  asLeft: 'in tolerance',
  traceableTo: 'national standard (invented)',
  ...changes,
});

function factsWith(calibrations: readonly object[] | undefined, sensor: string | undefined = 'OX-1'): Facts {
  const channels = [
    { channel: 'oxygen', ucum: '[ppm]', ...(sensor === '' ? {} : { instrument: sensor }) },
    { channel: 'pressure', ucum: 'mbar' },
  ];
  const log = { file: 'logs/run.csv', channels, nominalPeriodMs: 1000, gapLimitMs: 3000, clockOffsetMs: 0 };
  const build = { build: 'B1', closedAt: '2031-03-03T08:00:00+01:00', openedAt: '2031-03-03T20:00:00+01:00', log };
  const zones = [{ zone: 'I1-span', recipeZone: 'span', layers: { from: 1, to: 4 } }];
  const instruments = new Map(
    calibrations === undefined ? [] : [['OX-1', { body: { title: 'Oxygen sensor', calibrations } }]],
  );
  const lot = { builds: [build], implants: [{ serial: 'I1', build: 'B1', zones }], coupons: [] };
  return { lot: { body: lot }, instruments, places: new Map() } as unknown as Facts;
}

const LAST_YEAR = '2030-06-01T08:00:00+01:00';

it('passes with a calibration that holds over the whole build, and says which channels name no sensor', () => {
  const run = logSensorsCalibrated.run(factsWith([calibration(LAST_YEAR, '2031-06-01T08:00:00+01:00')]));
  expect(run).toEqual({ findings: [], basis: { instruments: 'OX-1', unnamed: 'pressure' }, doesNotApply: false });
});

it.each([
  { what: 'no calibration on record', calibrations: [], rule: 'no calibration' },
  {
    what: 'one that fell due between closing and opening',
    calibrations: [calibration(LAST_YEAR, '2031-03-03T12:00:00+01:00')],
    rule: 'overdue at use',
  },
  {
    what: 'one that was only made afterwards',
    calibrations: [calibration('2031-03-04T08:00:00+01:00', '2032-03-04T08:00:00+01:00')],
    rule: 'no calibration',
  },
  {
    what: 'one that left it out of tolerance',
    calibrations: [calibration(LAST_YEAR, '2031-06-01T08:00:00+01:00', { asLeft: 'out of tolerance' })],
    rule: 'left out of tolerance',
  },
  {
    what: 'a later one that found it out of tolerance',
    calibrations: [
      calibration(LAST_YEAR, '2031-06-01T08:00:00+01:00'),
      calibration('2031-04-01T08:00:00+01:00', '2032-04-01T08:00:00+01:00', { asFound: 'out of tolerance' }),
    ],
    rule: 'found out of tolerance later',
  },
])('leaves the units of the build undecided with $what', ({ calibrations, rule }) => {
  const [finding, ...more] = logSensorsCalibrated.run(factsWith(calibrations)).findings;
  expect(more).toEqual([]);
  expect(finding).toMatchObject({ rule, effect: 'cannot be decided', units: ['I1'] });
  expect(finding!.facts).toMatchObject({ instrument: 'OX-1', build: 'B1', channels: 'oxygen' });
  expect(findingWords('log-sensors-calibrated', finding!).says).toContain(
    'Oxygen sensor (OX-1), which logged oxygen of B1,',
  );
});

it('does not apply when no channel names its sensor', () => {
  expect(logSensorsCalibrated.run(factsWith([], '')).doesNotApply).toBe(true);
});
