import type { CheckResult } from '../../src/assessment/assessment.js';
import type { BadInputError } from '../../src/base/errors.js';
import type { Facts } from '../../src/dossier/facts.js';
import { basisWords, findingWords } from '../../src/report/assessment-words.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { assessBothWays } from '../support/note-files.js';
import { openServices } from '../support/services.js';
import { signedFacts } from '../support/signed-facts.js';

/** A dry store, logged once a minute from nine to eleven of the day after the build; humid for five minutes at ten. */
const at = (time: string) => `2031-03-04T${time}:00+01:00`;
const humidity = (minute: number): string => (minute >= 60 && minute < 65 ? '14' : '4');

function logText(from = 0): string {
  const rows = Array.from({ length: 121 }, (_, minute) => {
    const time = new Date(Date.parse(at('09:00')) + (minute + from) * 60_000).toISOString();
    return `${time},,,,${humidity(minute)}`;
  });
  return `timestamp,layer,zone,step,humidity\n${rows.join('\n')}\n`;
}

function addPlace(cell: Cell, text = logText()): void {
  const [instrument] = Object.values(cell.documents).filter(({ kind }) => kind === 'instrument');
  cell.documents['places/DRY-1.yaml'] = {
    ...{ kind: 'storage-place', format: 1, place: 'DRY-1', title: 'Dry store', what: 'dry store' },
    windows: [{ channel: 'humidity', ucum: '%', above: { action: '10', reject: '20' } }],
    instruments: [{ channel: 'humidity', instrument: instrument!.instrument }],
    logs: [{ file: 'dry.csv', from: at('09:00'), to: at('11:00'), nominalPeriodMs: 60_000, gapLimitMs: 120_000 }],
    stays: [
      { implant: 'L-1-I1', from: at('09:10'), to: at('09:50') },
      { implant: 'L-1-I2', from: at('09:10'), to: at('10:30') },
    ],
  };
  cell.files['places/dry.csv'] = text;
}

const LOGGER_MAP = {
  ...{ kind: 'channel-map', format: 1, map: 'CM-DRY', revision: 1, title: 'invented logger', source: 'CSV logger' },
  csv: {
    ...{ delimiter: 'semicolon', decimal: 'comma', headerLines: 0 },
    columns: [{ column: 'Humidity', dataItem: 'rh' }],
    time: { columns: ['Time'], form: 'ISO' },
  },
  channels: [{ dataItem: 'rh', channel: 'humidity', ucum: '%' }],
  ...{ place: {}, everySequence: 'no' },
};

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => addPlace(cell));
});

const checked = (change: (copy: Editable) => void = () => {}): CheckResult =>
  assessBothWays(signedFacts(edited(facts, change))).checks.find(({ code }) => code === 'places-kept')!;
const place = (copy: Editable) => copy.places.get('DRY-1').body;
const log = (copy: Editable) => [...copy.placeLogs.values()][0].body;

it('lays what the scan found on the parts that lay there then, and on no others', () => {
  const { outcome, findings } = checked();
  expect([outcome, findings.map(({ rule, units, mayBeDecided }) => [rule, units, mayBeDecided])]).toEqual([
    'cannot be decided',
    [['window left', ['L-1-I2'], 'decision']],
  ]);
  expect(findingWords('places-kept', findings[0]!).says).toMatch(
    /^Place DRY-1 left its window of humidity \(action\) from 2031-03-04 09:00 UTC to .*, up to 14 %, while L-1-I2 lay there\.$/,
  );
});

it('passes where everything that lay there had left before', () => {
  const kept = checked((copy) => {
    place(copy).stays[1].to = at('09:59');
  });
  expect([kept.outcome, basisWords(kept)]).toEqual(['passes', '2 stays in 1 place']);
});

it.each<[string, string, CheckResult['outcome'], (copy: Editable) => void]>([
  [
    'not logged',
    'cannot be decided',
    'cannot be decided',
    (copy) => {
      place(copy).stays[0].to = at('11:01');
    },
  ],
  [
    'not logged',
    'cannot be decided',
    'cannot be decided',
    (copy) => {
      log(copy).place = 'DRY-9';
    },
  ],
  [
    'window left',
    'does not conform',
    'fails',
    (copy) => {
      log(copy).findings[0].level = 'reject';
    },
  ],
  [
    'log not sound',
    'cannot be decided',
    'cannot be decided',
    (copy) => {
      log(copy).findings[0].rule = 'gap';
    },
  ],
  [
    'window left',
    'cannot be decided',
    'cannot be decided',
    (copy) => {
      place(copy).stays.splice(0, 2, { coupon: 'L-1-W1', from: at('09:10') });
    },
  ],
])('finds "%s", which %s', (rule, effect, outcome, change) => {
  const found = checked(change);
  expect([found.outcome, found.findings.map((one) => [one.rule, one.effect])]).toEqual([
    outcome,
    expect.arrayContaining([[rule, effect]]),
  ]);
});

it('does not apply where nothing of the lot lay in any place', () => {
  const none = (copy: Editable) => {
    place(copy).stays = [{ implant: 'L-9-I1', from: at('09:00') }];
  };
  expect(checked(none).outcome).toBe('does not apply');
});

const sensors = (change: (copy: Editable) => void = () => {}): CheckResult =>
  assessBothWays(signedFacts(edited(facts, change))).checks.find(({ code }) => code === 'log-sensors-calibrated')!;
const sensorOf = (copy: Editable) => copy.instruments.get(place(copy).instruments[0].instrument).body;

it('asks whether the sensors of a place were in calibration while parts lay there', () => {
  const passing = sensors();
  expect(passing.outcome).toBe('passes');
  expect(basisWords(passing)).toContain(sensorOf(facts).instrument);
  const late = sensors((copy) => {
    sensorOf(copy).calibrations[0].due = at('09:55');
  });
  expect(late.findings.map(({ rule, units }) => [rule, units])).toEqual([['overdue at use', ['L-1-I2']]]);
  expect(findingWords('log-sensors-calibrated', late.findings[0]!).says).toContain('humidity of place DRY-1');
});

async function takenIn(cell: Cell) {
  const services = await openServices(`${temporaryFolder('data')}/data`);
  try {
    await services.intake.run(writeCell(cell), 'local:tester');
    return await services.store.read.entries.list('place-log');
  } finally {
    await services.store.close();
  }
}

it('reads what a logger wrote by a channel map, and refuses what is no log in its own words', async () => {
  const cell = makeCell();
  const rows = logText()
    .split('\n')
    .slice(1, -1)
    .map((row) => row.split(','));
  const written = rows.map(([time, , , , value]) => `${new Date(time!).toISOString()};${value!.replace('.', ',')}`);
  addPlace(cell, `Time;Humidity\n${written.join('\n')}\n`);
  const [log] = cell.documents['places/DRY-1.yaml']!.logs;
  log.map = { map: 'CM-DRY', revision: 1 };
  cell.documents['places/map.yaml'] = LOGGER_MAP;
  const [stored] = await takenIn(cell);
  expect(stored!.body).toMatchObject({ rows: 121, findings: [{ rule: 'excursion', channel: 'humidity', worst: 14 }] });
  cell.files['places/dry.csv'] = 'nothing that is a log\n';
  delete log.map;
  const error = (await takenIn(cell).catch((caught: unknown) => caught)) as BadInputError;
  expect(error.problems).toEqual([
    expect.objectContaining({
      ...{ code: 'log-header', file: 'places/dry.csv', line: 1 },
      remedy: expect.stringContaining('in the document of place DRY-1'),
    }),
  ]);
});

it('refuses a log of another time than its document says, naming both', async () => {
  const services = await openServices(`${temporaryFolder('data')}/data`);
  const cell = makeCell();
  addPlace(cell, logText(30));
  const error = await services.intake.run(writeCell(cell), 'local:tester').catch((caught: unknown) => caught);
  await services.store.close();
  expect((error as BadInputError).problems).toEqual([
    expect.objectContaining({ code: 'place-log-of-another-time', field: 'logs[0]', file: 'places/DRY-1.yaml' }),
  ]);
});
