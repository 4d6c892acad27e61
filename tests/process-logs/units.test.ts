import { BadInputError, type Problem } from '../../src/base/errors.js';
import { saturationPressurePa } from '../../src/process-logs/dew-point.js';
import type { PlannedChannel, ScanPlan } from '../../src/process-logs/plan.js';
import { LogScanner } from '../../src/process-logs/scanner.js';
import type { TextScan } from '../../src/process-logs/text-scan.js';
import { readUnitsSidecar } from '../../src/process-logs/units-sidecar.js';

/** Units from lot file, sidecar and unit row: each is believed alone, all must agree, none is guessed. */

const channel = (name: string, changes: Partial<PlannedChannel> = {}): PlannedChannel => ({
  name,
  ucum: null,
  loggedUcum: null,
  unitFrom: [],
  dewPoint: null,
  ...changes,
});

function planOf(channels: readonly PlannedChannel[], changes: Partial<ScanPlan> = {}): ScanPlan {
  return {
    build: 'B1',
    channels,
    windows: [],
    setValues: [],
    inert: { channels: [], joinMs: 0 },
    closure: null,
    expected: [],
    nominalPeriodMs: 1000,
    gapLimitMs: 5000,
    clockOffsetMs: 0,
    ...changes,
  };
}

function scan(plan: ScanPlan, lines: readonly string[]): TextScan {
  const scanner = new LogScanner(plan, 'log.csv');
  scanner.push(Buffer.from(`${lines.join('\n')}\n`));
  return scanner.end();
}

function problemsOf(action: () => unknown): readonly Problem[] {
  try {
    action();
  } catch (error) {
    if (error instanceof BadInputError) return error.problems;
    throw error;
  }
  throw new Error('nothing was refused');
}

const at = (second: number) => `2026-03-02T07:15:0${second}.000Z,1,A,deposit`;
const meanOf = ({ summaries }: TextScan, name: string) => summaries.find((row) => row.channel === name)!;

describe('the unit of a channel', () => {
  const oxygen = (changes: Partial<PlannedChannel>) => planOf([channel('oxygen', { ucum: '[ppm]', ...changes })]);
  const header = 'timestamp,layer,zone,step,oxygen';
  const inLot = { loggedUcum: '%', unitFrom: ['lot file'] } as const;

  it('may stand in the unit row alone', () => {
    const result = scan(oxygen({}), [header, 'ucum,,,,%', `${at(0)},0.0012`]);
    expect(meanOf(result, 'oxygen')).toMatchObject({ mean: '12', ucum: '[ppm]' });
    expect(result.channelFacts).toEqual([
      { channel: 'oxygen', ucum: '[ppm]', loggedUcum: '%', unitFrom: ['unit row'], factor: 10_000, offset: 0 },
    ]);
  });

  it('may stand in the lot file alone, or in both', () => {
    const alone = scan(oxygen(inLot), [header, `${at(0)},0.0012`]);
    const both = scan(oxygen(inLot), [header, 'ucum,,,,%', `${at(0)},0.0012`]);
    expect(alone.summaries).toEqual(both.summaries);
    expect(both.channelFacts[0]).toMatchObject({ unitFrom: ['lot file', 'unit row'] });
  });

  it('may be written in two ways that mean the same', () => {
    const plan = planOf([channel('pressure', { loggedUcum: 'mbar', unitFrom: ['sidecar'] })]);
    const lines = ['timestamp,layer,zone,step,pressure', 'ucum,,,,hPa', `${at(0)},1012`];
    expect(scan(plan, lines).channelFacts[0]).toMatchObject({ loggedUcum: 'mbar', unitFrom: ['sidecar', 'unit row'] });
  });

  it('stays as logged when no window speaks of the channel', () => {
    const plan = planOf([channel('spindle-load')]);
    const result = scan(plan, ['timestamp,layer,zone,step,spindle-load', 'ucum,,,,%', `${at(0)},21`]);
    expect(meanOf(result, 'spindle-load')).toMatchObject({ ucum: '%', mean: '21' });
  });

  it('must be stated somewhere', () => {
    const [problem] = problemsOf(() => scan(oxygen({}), [header, `${at(0)},0.0012`]));
    expect(problem).toMatchObject({ code: 'log-unit', field: 'oxygen', found: 'no unit', line: 1 });
  });

  it.each([
    { name: 'contradicts the lot file', row: 'ucum,,,,[ppm]', found: '"[ppm]"', expected: '%, as the lot file says' },
    { name: 'is no unit', row: 'ucum,,,,percent', found: '"percent"', expected: 'a UCUM code' },
    { name: 'is empty', row: 'ucum,,,,', found: '""', expected: 'a UCUM code' },
  ])('is refused when the unit row $name', ({ row, found, expected }) => {
    const [problem] = problemsOf(() => scan(oxygen(inLot), [header, row, `${at(0)},0.0012`]));
    expect(problem).toMatchObject({ code: 'log-unit', line: 2, field: 'oxygen', found });
    expect(problem!.expected).toContain(expected);
  });

  it('is refused when it cannot become the unit of the recipe', () => {
    const [problem] = problemsOf(() => scan(oxygen({}), [header, 'ucum,,,,mbar', `${at(0)},0.0012`]));
    expect(problem).toMatchObject({ code: 'log-unit', field: 'oxygen' });
    expect(problem!.expected).toContain('[ppm]');
  });

  it('names every channel that is wrong at once', () => {
    const plan = planOf([channel('oxygen'), channel('moisture', { loggedUcum: '[ppm]', unitFrom: ['lot file'] })]);
    const lines = ['timestamp,layer,zone,step,moisture,oxygen', 'ucum,,,,%,odd', `${at(0)},1,2`];
    const fields = problemsOf(() => scan(plan, lines)).map((problem) => problem.field);
    expect(fields.sort()).toEqual(['moisture', 'oxygen']);
  });

  it('follows the columns, not their order in the lot file', () => {
    const plan = planOf([channel('oxygen', { ucum: '[ppm]' }), channel('pressure', { ucum: 'mbar' })]);
    const lines = ['timestamp,layer,zone,step,pressure,oxygen', 'ucum,,,,Pa,%', `${at(0)},101200,0.0012`];
    const result = scan(plan, lines);
    expect(meanOf(result, 'pressure').mean).toBe('1012');
    expect(meanOf(result, 'oxygen').mean).toBe('12');
  });
});

describe('a dew point', () => {
  const dewPoint = { over: 'ice', pressureChannel: 'pressure', ambientChannel: null } as const;
  const moisture = channel('moisture', { ucum: '[ppm]', loggedUcum: 'Cel', unitFrom: ['lot file'], dewPoint });
  const pressure = channel('pressure', { ucum: 'kPa', loggedUcum: 'mbar', unitFrom: ['lot file'] });
  const header = 'timestamp,layer,zone,step,moisture,pressure';
  const expected = (saturationPressurePa(-60, 'ice') / 101_300) * 1e6;

  it('becomes a share of moisture at the logged pressure, row by row', () => {
    const result = scan(planOf([moisture, pressure]), [header, `${at(0)},-60,1013`, `${at(1)},-60,2026`]);
    const { max, min, ucum } = meanOf(result, 'moisture');
    expect(ucum).toBe('[ppm]');
    expect(Number(max)).toBeCloseTo(expected, 6);
    expect(Number(min)).toBeCloseTo(expected / 2, 6);
    expect(result.channelFacts[0]).toEqual({
      channel: 'moisture',
      ucum: '[ppm]',
      loggedUcum: 'Cel',
      unitFrom: ['lot file'],
      dewPoint,
    });
  });

  it('may be logged in another temperature and wanted in another share', () => {
    const kelvin = channel('moisture', { ucum: '%', loggedUcum: 'K', unitFrom: ['lot file'], dewPoint });
    const result = scan(planOf([kelvin, pressure]), [header, `${at(0)},213.15,1013`]);
    expect(Number(meanOf(result, 'moisture').mean)).toBeCloseTo(expected / 10_000, 10);
  });

  it('stays a temperature when the recipe limits the dew point itself', () => {
    const limited = channel('moisture', { ucum: 'Cel', loggedUcum: 'Cel', unitFrom: ['lot file'], dewPoint });
    expect(meanOf(scan(planOf([limited, pressure]), [header, `${at(0)},-60,1013`]), 'moisture').mean).toBe('-60');
  });

  it('is missing in a row without pressure, which is counted, found and told apart from a blank cell', () => {
    const window = {
      channel: 'moisture',
      level: 'alert',
      low: null,
      high: 20,
      minimumMs: null,
      integralLimit: null,
    } as const;
    const plan = planOf([moisture, pressure], { windows: [{ ...window, scope: 'closure' }] });
    const rows = [`${at(0)},-60,1013`, `${at(1)},-60,`, `${at(2)},,1013`, `${at(3)},-60,1013`];
    const result = scan(plan, [header, ...rows]);
    expect(result.channels[0]).toEqual({ channel: 'moisture', blank: 1, notANumber: 0, notConverted: 1 });
    const found = result.part.findings.map(({ rule, facts }) => [rule, facts.what, facts.rows]);
    expect(found).toContainEqual(['dew point not converted', { code: 'dew point', trouble: 'no pressure' }, 1]);
    expect(found).toContainEqual(['missing values', undefined, 2]);
  });

  it('is refused when its pressure is not logged, or is no pressure', () => {
    const [unlogged] = problemsOf(() => new LogScanner(planOf([moisture]), 'log.csv'));
    expect(unlogged).toMatchObject({ code: 'log-plan', found: 'no logged pressure "pressure"' });
    const flow = channel('pressure', { loggedUcum: 'L/min', unitFrom: ['lot file'] });
    const [noPressure] = problemsOf(() => scan(planOf([moisture, flow]), [header, `${at(0)},-60,12`]));
    expect(noPressure).toMatchObject({ code: 'log-unit', field: 'moisture' });
    expect(noPressure!.found).toContain('L/min');
  });

  it('is refused as a share of moisture when nobody said over what it condenses and at which pressure', () => {
    const bare = channel('moisture', { ucum: '[ppm]', loggedUcum: 'Cel', unitFrom: ['lot file'] });
    const [problem] = problemsOf(() => scan(planOf([bare, pressure]), [header, `${at(0)},-60,1013`]));
    expect(problem).toMatchObject({ code: 'log-unit', field: 'moisture' });
    expect(problem!.remedy).toContain('ice or water');
  });
});

describe('the sidecar', () => {
  const good =
    "kind: log-units\nformat: 1\nchannels:\n  - { channel: oxygen, ucum: '[ppm]' }\n  - { channel: pressure, ucum: mbar }\n";

  it('gives the unit of each channel', () => {
    expect([...readUnitsSidecar(good, 'logs/run.units.yaml')]).toEqual([
      ['oxygen', '[ppm]'],
      ['pressure', 'mbar'],
    ]);
  });

  it.each([
    { name: 'another kind', text: good.replace('log-units', 'units'), line: 1, field: 'kind' },
    { name: 'no format', text: good.replace('format: 1\n', ''), line: 1, field: 'format' },
    { name: 'an unknown unit', text: good.replace('mbar', 'millibar'), line: 5, field: 'pressure' },
    { name: 'a channel twice', text: good.replace('pressure', 'oxygen'), line: 5, field: 'oxygen' },
    { name: 'no channels', text: 'kind: log-units\nformat: 1\nchannels: []\n', line: 3, field: 'channels' },
    { name: 'an unknown field', text: `${good}note: x\n`, line: 1, field: '' },
    { name: 'a field twice', text: `${good}format: 1\n`, line: 6, code: 'duplicate-key' },
    { name: 'a cut file', text: good.slice(0, -4), line: 5, code: 'yaml' },
    { name: 'nothing', text: '', line: 1, code: 'empty' },
    { name: 'a reference to nothing', text: good.replace('mbar', '*mbar'), line: 5, code: 'reference' },
  ])('is refused with $name', ({ text, line, field, code = 'log-units' }) => {
    const [problem] = problemsOf(() => readUnitsSidecar(text, 'logs/run.units.yaml'));
    expect(problem).toMatchObject({ code, file: 'logs/run.units.yaml', line });
    if (field !== undefined) expect(problem!.field).toBe(field);
    expect(problem!.remedy).not.toBe('');
  });
});
