import type { LogFinding } from '../../src/dossier/schema.js';
import type { ExpectedStep, PlannedChannel, ScanPlan, ScanWindow } from '../../src/process-logs/plan.js';
import { LogScanner } from '../../src/process-logs/scanner.js';
import type { TextScan } from '../../src/process-logs/text-scan.js';
import { detailText } from '../../src/report/phrases/log-finding.js';

/** What is found in small logs that were worked out by hand. One channel, oxygen, once a second. */

const HEADER = 'timestamp,layer,zone,step,oxygen';
const START_MS = Date.UTC(2026, 2, 2, 8, 0, 0);

interface Sample {
  readonly at: number;
  readonly oxygen: string;
  readonly layer?: string;
  readonly zone?: string;
  readonly step?: string;
}

function logOf(samples: readonly Sample[]): string {
  const rows = samples.map(({ at, oxygen, layer = '1', zone = 'A', step = 'deposit' }) => {
    return `${new Date(START_MS + at * 1000).toISOString()},${layer},${zone},${step},${oxygen}`;
  });
  return `${[HEADER, ...rows].join('\n')}\n`;
}

/** Values one second apart from second 0 on. */
const series = (values: readonly (number | string)[], rest: Partial<Sample> = {}): Sample[] =>
  values.map((oxygen, at) => ({ ...rest, at, oxygen: String(oxygen) }));

const channelOf = (name: string, ucum: string, loggedUcum = ucum): PlannedChannel => ({
  name,
  ucum,
  loggedUcum,
  unitFrom: ['lot file'],
  dewPoint: null,
});

/** A step without limits of its duration. */
const stepOf = (step: string, everyLayers: number): ExpectedStep => ({
  step,
  everyLayers,
  shortestMs: null,
  longestMs: null,
});

function planOf(windows: readonly Partial<ScanWindow>[], changes: Partial<ScanPlan> = {}): ScanPlan {
  const empty = {
    channel: 'oxygen',
    level: 'action',
    low: null,
    high: null,
    minimumMs: null,
    integralLimit: null,
  } as const;
  return {
    build: 'B1',
    channels: [channelOf('oxygen', '[ppm]')],
    windows: windows.map((window) => ({ ...empty, scope: 'closure', ...window })),
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

function scan(samples: readonly Sample[], plan: ScanPlan): TextScan {
  const scanner = new LogScanner(plan, 'log.csv');
  scanner.push(Buffer.from(logOf(samples)));
  return scanner.end();
}

const found = (samples: readonly Sample[], plan: ScanPlan, rule: string): LogFinding[] =>
  scan(samples, plan).part.findings.filter((finding) => finding.rule === rule);

const second = (at: number) => new Date(START_MS + at * 1000).toISOString();

describe('excursions', () => {
  it('runs from the first value outside until the next one inside, with worst value and integral', () => {
    const [finding, ...more] = found(series([10, 60, 80, 55, 50, 10]), planOf([{ high: 50 }]), 'excursion');
    expect(more).toEqual([]);
    expect(finding).toEqual({
      id: expect.stringMatching(/^[0-9a-f]{64}$/),
      build: 'B1',
      rule: 'excursion',
      level: 'action',
      channel: 'oxygen',
      ucum: '[ppm]',
      startedAt: second(1),
      endedAt: second(4),
      places: [{ zone: 'A', layerFrom: 1, layerTo: 1 }],
      steps: ['deposit'],
      facts: {
        direction: 'high',
        worst: 80,
        limit: 50,
        durationMs: 3000,
        integralS: 10 + 30 + 5,
        rows: 3,
        lineFrom: 3,
        lineTo: 5,
      },
    });
  });

  it('tells levels apart: the time beyond reject is shorter than the time beyond alert', () => {
    const windows = [
      { level: 'alert', high: 20 },
      { level: 'action', high: 50 },
      { level: 'reject', high: 100 },
    ] as const;
    const findings = found(series([10, 30, 60, 120, 60, 30, 10]), planOf(windows), 'excursion');
    expect(findings.map(({ level, facts }) => [level, facts.durationMs, facts.worst])).toEqual([
      ['alert', 5000, 120],
      ['action', 3000, 120],
      ['reject', 1000, 120],
    ]);
  });

  it('splits by direction', () => {
    const findings = found(series([10, 60, -5, 10]), planOf([{ low: 0, high: 50 }]), 'excursion');
    expect(findings.map(({ facts }) => [facts.direction, facts.worst, facts.limit, facts.durationMs])).toEqual([
      ['high', 60, 50, 1000],
      ['low', -5, 0, 1000],
    ]);
  });

  it('takes the limit itself as inside', () => {
    expect(found(series([50, 0, 50]), planOf([{ low: 0, high: 50 }]), 'excursion')).toEqual([]);
  });

  it('counts from the minimum duration on', () => {
    const plan = planOf([{ high: 50, minimumMs: 3000 }]);
    const findings = found(series([10, 60, 60, 10, 60, 60, 60, 10]), plan, 'excursion');
    expect(findings.map(({ startedAt, facts }) => [startedAt, facts.durationMs])).toEqual([[second(4), 3000]]);
  });

  it('counts from the integral on, even when it was shorter than the minimum', () => {
    const plan = planOf([{ high: 50, minimumMs: 3000, integralLimit: 100 }]);
    const findings = found(series([10, 149, 10, 150, 10]), plan, 'excursion');
    expect(findings.map(({ startedAt, facts }) => [startedAt, facts.integralS])).toEqual([[second(3), 100]]);
  });

  it('counts by integral alone when no minimum is given', () => {
    const plan = planOf([{ high: 50, integralLimit: 100 }]);
    expect(found(series([10, 60, 60, 60, 10]), plan, 'excursion')).toEqual([]);
    expect(found(series([10, 90, 90, 90, 10]), plan, 'excursion')).toHaveLength(1);
  });

  it('runs on across borders of layer, zone and step, and names them all', () => {
    const samples = [
      ...series([10, 60]),
      { at: 2, oxygen: '70', layer: '2', zone: 'A', step: 'peen' },
      { at: 3, oxygen: '60', layer: '2', zone: 'B', step: 'peen' },
      { at: 4, oxygen: '10', layer: '3', zone: 'B', step: 'deposit' },
    ];
    const [finding, ...more] = found(samples, planOf([{ high: 50 }]), 'excursion');
    expect(more).toEqual([]);
    expect(finding).toMatchObject({
      places: [
        { zone: 'A', layerFrom: 1, layerTo: 2 },
        { zone: 'B', layerFrom: 2, layerTo: 2 },
      ],
      steps: ['deposit', 'peen'],
      facts: { durationMs: 3000 },
    });
  });

  it('a row without zone covers every zone of its layer, one without layer everything', () => {
    const plan = planOf([{ high: 50 }]);
    const noZone = found([{ at: 0, oxygen: '60', zone: '', layer: '7' }], plan, 'excursion');
    expect(noZone[0]!.places).toEqual([{ zone: null, layerFrom: 7, layerTo: 7 }]);
    const noLayer = found([{ at: 0, oxygen: '60', zone: '', layer: '', step: 'idle' }], plan, 'excursion');
    expect(noLayer[0]!.places).toEqual([{ zone: null, layerFrom: null, layerTo: null }]);
  });

  it('is ended by a gap, a missing value, and a place without such a limit', () => {
    const plan = planOf([{ high: 50, scope: { zone: 'A', step: 'deposit', layerFrom: 1, layerTo: 9 } }]);
    const samples: Sample[] = [
      ...series([60, 60]),
      { at: 20, oxygen: '60' },
      { at: 21, oxygen: '' },
      { at: 22, oxygen: '60' },
      { at: 23, oxygen: '60', step: 'peen' },
      { at: 24, oxygen: '60', layer: '10' },
      { at: 25, oxygen: '60' },
      { at: 26, oxygen: '10' },
    ];
    const findings = found(samples, plan, 'excursion');
    expect(findings.map(({ startedAt, endedAt }) => [startedAt, endedAt])).toEqual([
      [second(0), second(2)],
      [second(20), second(21)],
      [second(22), second(23)],
      [second(25), second(26)],
    ]);
  });

  it('does not let a tight limit that forgives a minute hide a wide one that forgives nothing', () => {
    const plan = planOf([{ high: 50, minimumMs: 60_000 }, { high: 100 }]);
    const findings = found(series([10, 120, 120, 60, 10]), plan, 'excursion');
    expect(findings.map(({ facts }) => [facts.limit, facts.worst, facts.durationMs])).toEqual([[100, 120, 2000]]);
    const long = Array.from({ length: 61 }, () => 60);
    expect(found(series([10, ...long, 10]), plan, 'excursion').map(({ facts }) => facts.limit)).toEqual([50]);
  });

  it('lets the tighter of two windows hold', () => {
    const plan = planOf([{ high: 50 }, { high: 30, scope: { zone: 'A', step: 'peen', layerFrom: 1, layerTo: 9 } }]);
    const samples = [...series([40]), { at: 1, oxygen: '40', step: 'peen' }];
    expect(found(samples, plan, 'excursion')).toMatchObject([{ steps: ['peen'], facts: { limit: 30 } }]);
  });

  it('keeps a thousand of a kind apart and joins the rest', () => {
    const samples = series(Array.from({ length: 2400 }, (_, index) => (index % 2 === 0 ? 60 : 10)));
    const findings = found(samples, planOf([{ high: 50 }]), 'excursion');
    expect(findings).toHaveLength(1001);
    const last = findings.at(-1)!;
    expect(last.facts).toMatchObject({ occurrences: 200, durationMs: 200_000, rows: 200 });
    expect([last.startedAt, last.endedAt]).toEqual([second(2000), second(2399)]);
  });
});

describe('settings that the log repeats', () => {
  const scopeOf = (step: string) => ({ zone: 'A', step, layerFrom: 1, layerTo: 9 });
  const setValues = [
    { channel: 'oxygen', value: 300, scope: scopeOf('deposit') },
    { channel: 'oxygen', value: 290, scope: scopeOf('peen') },
  ];
  const settingsOf = (samples: readonly Sample[], changes: Partial<ScanPlan> = {}) =>
    found(samples, planOf([], { setValues, ...changes }), 'set value not as in the recipe');

  it('must equal the recipe, each step its own value', () => {
    const peened = series([300, '300.0', '3e2']).concat({ at: 3, oxygen: '290', step: 'peen' });
    expect(settingsOf(peened)).toEqual([]);
  });

  it('are found with what was set and what the recipe says, above and below', () => {
    const samples = [...series([300, 310, 310, 299.9, 300]), { at: 5, oxygen: '300', step: 'peen' }];
    const findings = settingsOf(samples);
    expect(
      findings.map(({ level, startedAt, endedAt, steps, facts }) => [level, startedAt, endedAt, steps, facts]),
    ).toEqual([
      [
        'action',
        second(1),
        second(3),
        ['deposit'],
        { direction: 'high', worst: 310, limit: 300, durationMs: 2000, rows: 2, lineFrom: 3, lineTo: 4 },
      ],
      [
        'action',
        second(3),
        second(4),
        ['deposit'],
        { direction: 'low', worst: 299.9, limit: 300, durationMs: 1000, rows: 1, lineFrom: 5, lineTo: 5 },
      ],
      [
        'action',
        second(5),
        second(6),
        ['peen'],
        { direction: 'high', worst: 300, limit: 290, durationMs: 1000, rows: 1, lineFrom: 7, lineTo: 7 },
      ],
    ]);
  });

  it('are compared in the unit of the recipe, without seeing the rounding of the conversion', () => {
    const channels = [channelOf('oxygen', 'W', 'kW')];
    expect(settingsOf(series(['0.3', '0.3']), { channels })).toEqual([]);
    expect(settingsOf(series(['0.3', '0.301']), { channels })).toHaveLength(1);
  });

  it('are missed when they are blank, and when the channel is not logged', () => {
    expect(found(series([300, '', 300]), planOf([], { setValues }), 'missing values')).toHaveLength(1);
    const unlogged = setValues.map((item) => ({ ...item, channel: 'power-set' }));
    expect(found(series([300]), planOf([], { setValues: unlogged }), 'channel not logged')).toMatchObject([
      {
        facts: { what: { code: 'channel', channel: 'power-set' } },
        places: [{ zone: 'A', layerFrom: 1, layerTo: 9 }],
        steps: ['deposit', 'peen'],
      },
    ]);
  });
});

describe('units', () => {
  it('compares and reports in the unit of the recipe, and a value on the limit stays inside', () => {
    const channels = [channelOf('oxygen', '[ppm]', '%')];
    const plan = planOf([{ high: 51 }], { channels });
    // 0.0051 × 10 000 is 51.00000000000001 in binary arithmetic.
    const findings = found(series(['0.0051', '0.0052', '0.001']), plan, 'excursion');
    expect(0.0051 * 10_000).toBeGreaterThan(51);
    expect(findings.map(({ facts, ucum }) => [facts.worst, ucum])).toEqual([[0.0052 * 10_000, '[ppm]']]);
  });
});

describe('missing values', () => {
  it('are an alert when short and as bad as a gap when long', () => {
    const values = [10, '', 10, 'NaN', '', '', '', '', '', 10];
    const findings = found(series(values), planOf([{ high: 50 }]), 'missing values');
    expect(findings.map(({ level, startedAt, facts }) => [level, startedAt, facts.durationMs])).toEqual([
      ['alert', second(1), 1000],
      ['action', second(3), 6000],
    ]);
  });

  it('are not missed where the recipe sets no limit', () => {
    const plan = planOf([{ high: 50, scope: { zone: 'A', step: 'peen', layerFrom: 1, layerTo: 9 } }]);
    expect(found(series([10, '', 10]), plan, 'missing values')).toEqual([]);
  });
});

describe('time', () => {
  it('a gap begins where the last row stops to count', () => {
    const { part, summaries } = scan([...series([10, 10]), { at: 30, oxygen: '10' }], planOf([]));
    expect(part.gaps).toEqual([{ startedAt: second(2), endedAt: second(30) }]);
    expect(part.findings).toMatchObject([{ rule: 'gap', level: 'action', facts: { durationMs: 28_000 } }]);
    expect(summaries[0]).toMatchObject({ n: '3', observedMs: '3000' });
  });

  it('a gap between two layers covers all from one to the other, between two zones every zone', () => {
    const between = (next: Partial<Sample>) =>
      found([...series([10], { layer: '3' }), { at: 30, oxygen: '10', layer: '3', ...next }], planOf([]), 'gap')[0]!
        .places;
    expect(between({})).toEqual([{ zone: 'A', layerFrom: 3, layerTo: 3 }]);
    expect(between({ layer: '6' })).toEqual([{ zone: 'A', layerFrom: 3, layerTo: 6 }]);
    expect(between({ zone: 'B' })).toEqual([{ zone: null, layerFrom: 3, layerTo: 3 }]);
    expect(between({ layer: '' })).toEqual([{ zone: 'A', layerFrom: null, layerTo: null }]);
  });

  it('exactly the gap limit is no gap', () => {
    expect(found([...series([10]), { at: 5, oxygen: '10' }], planOf([]), 'gap')).toEqual([]);
  });

  it('of two rows with one time the earlier has no weight', () => {
    const samples = [...series([10]), { at: 1, oxygen: '90' }, { at: 1, oxygen: '20' }, { at: 2, oxygen: '20' }];
    const { summaries, part } = scan(samples, planOf([]));
    expect(summaries[0]).toMatchObject({ n: '4', max: '90', observedMs: '3000' });
    expect(Number(summaries[0]!.timeWeightedMean)).toBeCloseTo((10 + 20 + 20) / 3, 12);
    expect(part.findings).toMatchObject([{ rule: 'duplicate time', level: 'alert', facts: { rows: 1 } }]);
  });

  it('a row whose time goes back is not used', () => {
    const samples = [
      ...series([10, 10, 10]),
      { at: 1, oxygen: '99' },
      { at: 0, oxygen: '98' },
      { at: 3, oxygen: '10' },
    ];
    const { summaries, part, rows } = scan(samples, planOf([{ high: 50 }]));
    expect(rows).toBe(4);
    expect(summaries[0]).toMatchObject({ max: '10' });
    expect(part.findings).toMatchObject([
      { rule: 'time going back', level: 'action', startedAt: second(0), endedAt: second(2), facts: { occurrences: 2 } },
    ]);
  });

  it('adds the offset of the recorder to every time', () => {
    const plan = planOf([{ high: 50 }], { clockOffsetMs: -90_500 });
    const { firstAt, part } = scan(series([60, 10]), plan);
    expect(firstAt).toBe(second(-90.5));
    expect(part.findings[0]).toMatchObject({ startedAt: second(-90.5), endedAt: second(-89.5) });
  });

  it('reads microseconds', () => {
    const text = `${HEADER}\n2026-03-02T08:00:00.000125Z,1,A,peen,60\n2026-03-02T08:00:00.000500Z,1,A,peen,10\n`;
    const scanner = new LogScanner(planOf([{ high: 50 }]), 'log.csv');
    scanner.push(Buffer.from(text));
    const [finding] = scanner.end().part.findings;
    expect(finding).toMatchObject({ startedAt: '2026-03-02T08:00:00.000125Z', facts: { durationMs: 0.375 } });
  });
});

describe('the closed chamber', () => {
  const closure = { closedAt: second(100), openedAt: second(700) };

  it('its windows hold from closing to opening', () => {
    const samples = series(
      Array.from({ length: 1000 }, () => 60),
      { zone: '', layer: '', step: 'idle' },
    );
    const [finding, ...more] = found(samples, planOf([{ high: 50 }], { closure }), 'excursion');
    expect(more).toEqual([]);
    expect([finding!.startedAt, finding!.endedAt]).toEqual([closure.closedAt, closure.openedAt]);
  });

  it('a log that starts late or ends early leaves everything open', () => {
    const { part } = scan(
      [
        { at: 300, oxygen: '10' },
        { at: 301, oxygen: '10' },
      ],
      planOf([], { closure }),
    );
    const everything = [{ zone: null, layerFrom: null, layerTo: null }];
    expect(part.findings).toMatchObject([
      { rule: 'log starts late', level: 'action', startedAt: second(100), endedAt: second(300), places: everything },
      { rule: 'log ends early', level: 'action', startedAt: second(302), endedAt: second(700), places: everything },
    ]);
  });

  it('a minute is forgiven, since people write closing and opening down', () => {
    const samples = [
      { at: 160, oxygen: '10' },
      { at: 640, oxygen: '10' },
    ];
    const rules = scan(samples, planOf([], { closure })).part.findings.map((finding) => finding.rule);
    expect(rules).toEqual(['gap']);
  });

  it('work with an open chamber is found', () => {
    const samples = [
      { at: 0, oxygen: '10', layer: '4' },
      { at: 1, oxygen: '10', layer: '4' },
      { at: 699, oxygen: '10' },
    ];
    expect(found(samples, planOf([], { closure }), 'logged with open chamber')).toMatchObject([
      { level: 'action', places: [{ zone: 'A', layerFrom: 4, layerTo: 4 }] },
    ]);
  });
});

describe('breaks of the inert atmosphere', () => {
  const inert = { channels: ['oxygen', 'pressure'], joinMs: 3000 };
  const channels = ['oxygen', 'pressure'].map((name) => channelOf(name, '1'));
  const windows = [
    { channel: 'oxygen', level: 'action', high: 50 },
    { channel: 'pressure', level: 'reject', low: 5 },
  ] as const;

  function breaksOf(values: readonly (readonly [number | string, number | string])[], used = inert) {
    const samples = values.map(([oxygen, pressure], at) => ({ at, oxygen: `${oxygen},${pressure}` }));
    const scanner = new LogScanner(planOf(windows, { channels, inert: used }), 'log.csv');
    scanner.push(Buffer.from(logOf(samples).replace(HEADER, `${HEADER},pressure`)));
    return scanner.end().part.findings.filter((finding) => finding.rule === 'break of inert atmosphere');
  }
  const calm = [10, 9] as const;

  it('are the union of the channels, joined when close', () => {
    const breaks = breaksOf([
      calm,
      [60, 9],
      [60, 1],
      [10, 1],
      calm,
      calm,
      calm,
      [60, 9],
      calm,
      calm,
      calm,
      calm,
      [60, 9],
      calm,
    ]);
    expect(breaks.map(({ startedAt, endedAt }) => [startedAt, endedAt])).toEqual([
      [second(1), second(8)],
      [second(12), second(13)],
    ]);
    expect(breaks[0]).toMatchObject({ level: 'alert', facts: { durationMs: 7000, mostSevere: 'reject' } });
    expect(breaks[0]!.facts.joins).toEqual([
      { rule: 'excursion', channel: 'oxygen' },
      { rule: 'excursion', channel: 'pressure' },
    ]);
  });

  it('join a long excursion with shorter ones that ended before it', () => {
    const breaks = breaksOf([calm, [10, 1], [60, 1], [10, 1], [10, 1], [60, 1], calm], { ...inert, joinMs: 0 });
    expect(breaks.map(({ startedAt, endedAt }) => [startedAt, endedAt])).toEqual([[second(1), second(6)]]);
  });

  it('include the time between closing and opening that was not logged, whatever step was done then', () => {
    const closure = { closedAt: second(0), openedAt: second(900) };
    const samples = [
      { at: 200, oxygen: '10' },
      { at: 201, oxygen: '10', step: 'peen' },
      { at: 300, oxygen: '10', zone: '', layer: '', step: 'idle' },
    ];
    const plan = planOf([{ high: 50 }], { closure, inert: { channels: ['oxygen'], joinMs: 500 } });
    const breaks = found(samples, plan, 'break of inert atmosphere');
    const silence = (rule: string) => ({ joins: [{ rule, channel: null }], mostSevere: 'action' });
    expect(breaks.map(({ startedAt, endedAt }) => [startedAt, endedAt])).toEqual([
      [second(0), second(200)],
      [second(202), second(300)],
      [second(301), second(900)],
    ]);
    expect(breaks.map(({ facts }) => facts)).toMatchObject(['log starts late', 'gap', 'log ends early'].map(silence));
  });

  it('do not count silence before closing and after opening', () => {
    const closure = { closedAt: second(100), openedAt: second(103) };
    const samples = [0, 100, 101, 102, 103, 104, 200].map((at) => ({ at, oxygen: '10', zone: '', step: 'idle' }));
    const plan = planOf([{ high: 50 }], { closure, inert: { channels: ['oxygen'], joinMs: 1000 } });
    expect(found(samples, plan, 'gap')).toHaveLength(2);
    expect(found(samples, plan, 'break of inert atmosphere')).toEqual([]);
  });

  it('include missing values and leave other channels out', () => {
    expect(breaksOf([calm, ['', 9], calm])[0]!.facts).toMatchObject({
      joins: [{ rule: 'missing values', channel: 'oxygen' }],
      mostSevere: 'alert',
    });
    expect(breaksOf([calm, [10, 1], calm], { channels: ['oxygen'], joinMs: 0 })).toEqual([]);
  });
});

describe('what should have been logged', () => {
  const expected = [
    {
      zone: 'A',
      layerFrom: 1,
      layerTo: 8,
      firstLayer: 1,
      steps: [stepOf('deposit', 1), stepOf('peen', 2)],
    },
    { zone: 'B', layerFrom: 1, layerTo: 8, firstLayer: 1, steps: [stepOf('deposit', 1)] },
  ];
  const rowsOf = (zone: string, step: string, layers: readonly number[]): Omit<Sample, 'at'>[] =>
    layers.map((layer) => ({ zone, step, layer: String(layer), oxygen: '10' }));
  const all = [1, 2, 3, 4, 5, 6, 7, 8];

  /** Layer by layer, as a build goes; rows of one layer as given. */
  const layerwise = (rows: readonly Omit<Sample, 'at'>[]) =>
    [...rows].sort((a, b) => Number(a.layer) - Number(b.layer));

  const rulesOf = (rows: readonly Omit<Sample, 'at'>[], changes: Partial<ScanPlan> = {}) =>
    rulesInOrder(layerwise(rows), changes);

  function rulesInOrder(rows: readonly Omit<Sample, 'at'>[], changes: Partial<ScanPlan> = {}) {
    const samples = rows.map((row, at) => ({ ...row, at }));
    return scan(samples, planOf([], { expected, ...changes })).part.findings.map(
      ({ rule, level, places, steps, facts }) => ({
        rule,
        level,
        places,
        steps,
        what: facts.what && detailText(facts.what),
      }),
    );
  }

  const complete = [
    ...rowsOf('A', 'deposit', all),
    ...rowsOf('A', 'peen', [2, 4, 6, 8]),
    ...rowsOf('B', 'deposit', all),
  ];

  it('a complete log has no findings', () => {
    expect(rulesOf(complete)).toEqual([]);
  });

  it('names a zone, a step and layers that were never logged', () => {
    const rows = [...rowsOf('A', 'deposit', [1, 2, 5, 6, 7])];
    expect(rulesOf(rows)).toEqual([
      {
        rule: 'layers never logged',
        level: 'action',
        places: [{ zone: 'A', layerFrom: 3, layerTo: 4 }],
        steps: ['deposit'],
      },
      {
        rule: 'layers never logged',
        level: 'action',
        places: [{ zone: 'A', layerFrom: 8, layerTo: 8 }],
        steps: ['deposit'],
      },
      {
        rule: 'step never logged',
        level: 'action',
        places: [{ zone: 'A', layerFrom: 1, layerTo: 8 }],
        steps: ['peen'],
      },
      { rule: 'zone never logged', level: 'action', places: [{ zone: 'B', layerFrom: 1, layerTo: 8 }], steps: [] },
    ]);
  });

  it('finds a peening interval that was skipped, and one that came early', () => {
    const others = [...rowsOf('A', 'deposit', all), ...rowsOf('B', 'deposit', all)];
    expect(rulesOf([...others, ...rowsOf('A', 'peen', [2, 4, 8])])).toMatchObject([
      { rule: 'layers never logged', places: [{ zone: 'A', layerFrom: 5, layerTo: 7 }], steps: ['peen'] },
    ]);
    expect(rulesOf([...others, ...rowsOf('A', 'peen', [2, 4, 5, 6, 8])])).toMatchObject([
      {
        rule: 'step repeated early',
        level: 'action',
        places: [{ zone: 'A', layerFrom: 5, layerTo: 6 }],
        steps: ['peen'],
      },
    ]);
  });

  it('finds a first peening that came before its interval was over', () => {
    const others = [...rowsOf('A', 'deposit', all), ...rowsOf('B', 'deposit', all)];
    expect(rulesOf([...others, ...rowsOf('A', 'peen', [1, 3, 5, 7, 8])])).toMatchObject([
      { rule: 'step repeated early', places: [{ zone: 'A', layerFrom: 1, layerTo: 8 }], steps: ['peen'] },
    ]);
  });

  it('counts an interval on from the build that was interrupted, and asks for nothing that was not due', () => {
    const continued = { ...expected[0]!, layerFrom: 4, layerTo: 6, firstLayer: 1, steps: [stepOf('peen', 4)] };
    expect(rulesOf(rowsOf('A', 'deposit', [4]), { expected: [continued] })).toMatchObject([
      { rule: 'step never logged', places: [{ zone: 'A', layerFrom: 4, layerTo: 6 }], steps: ['peen'] },
      { rule: 'unknown step' },
    ]);
    expect(rulesOf(rowsOf('A', 'peen', [4]), { expected: [continued] })).toEqual([]);
    const between = { ...continued, layerFrom: 5 };
    expect(rulesOf(rowsOf('A', 'deposit', [5]), { expected: [between] })).toMatchObject([{ rule: 'unknown step' }]);
  });

  describe('steps out of the order of the recipe', () => {
    const row = (zone: string, step: string, layer: number) => rowsOf(zone, step, [layer])[0]!;
    const outOfOrder = (rows: readonly Omit<Sample, 'at'>[]) =>
      rulesInOrder(rows).filter(({ rule }) => rule === 'step out of order');

    it('a step before the one that the recipe puts first', () => {
      const rows = [row('A', 'deposit', 1), row('A', 'peen', 2), row('A', 'deposit', 2), row('A', 'deposit', 3)];
      expect(outOfOrder(rows)).toEqual([
        {
          rule: 'step out of order',
          level: 'action',
          places: [{ zone: 'A', layerFrom: 2, layerTo: 2 }],
          steps: ['deposit'],
          what: 'deposition after peening at the same layer',
        },
      ]);
    });

    it('a layer that is worked on again after the next one', () => {
      const rows = [row('A', 'deposit', 1), row('A', 'deposit', 2), row('A', 'peen', 1), row('A', 'peen', 2)];
      expect(outOfOrder(rows)).toMatchObject([
        { places: [{ zone: 'A', layerFrom: 1, layerTo: 1 }], what: 'peening after deposition at a later layer' },
      ]);
    });

    it('lasts until the next change, and the end of the log ends it too', () => {
      const samples: Sample[] = [
        { at: 0, oxygen: '1', layer: '2', zone: 'A', step: 'peen' },
        { at: 1, oxygen: '1', layer: '2', zone: 'A', step: 'deposit' },
        { at: 2, oxygen: '1', layer: '2', zone: 'A', step: 'deposit' },
        { at: 3, oxygen: '1', layer: '3', zone: 'A', step: 'deposit' },
        { at: 4, oxygen: '1', layer: '1', zone: 'A', step: 'deposit' },
      ];
      const findings = found(samples, planOf([], { expected }), 'step out of order');
      expect(
        findings.map(({ startedAt, endedAt, facts }) => [startedAt, endedAt, facts.lineFrom, facts.lineTo]),
      ).toEqual([
        [second(1), second(3), 3, 4],
        [second(4), second(5), 6, 6],
      ]);
    });

    it('work on other zones in between, and rows without layer or of unknown steps, change no order', () => {
      const idle = { zone: '', layer: '', step: 'idle', oxygen: '1' };
      const polish = { ...row('A', 'polish', 1) };
      const rows = [
        row('A', 'deposit', 2),
        row('B', 'deposit', 1),
        idle,
        polish,
        row('A', 'peen', 2),
        row('B', 'deposit', 2),
      ];
      expect(outOfOrder(rows)).toEqual([]);
    });
  });

  it('finds a step that was cut short, and one that took so long that it was done twice', () => {
    const timed = [{ ...expected[1]!, steps: [{ ...stepOf('deposit', 1), shortestMs: 2000, longestMs: 3000 }] }];
    const times = [1, 1, 2, 2, 2, 3, 4, 4, 4, 4, 5, 5, 6, 6, 7, 7, 8, 8];
    const rows = times.map((layer) => ({ zone: 'B', step: 'deposit', layer: String(layer), oxygen: '1' }));
    expect(rulesInOrder(rows, { expected: timed })).toEqual([
      {
        rule: 'step too short',
        level: 'action',
        places: [{ zone: 'B', layerFrom: 3, layerTo: 3 }],
        steps: ['deposit'],
        what: '1 s instead of at least 2 s',
      },
      {
        rule: 'step too long',
        level: 'action',
        places: [{ zone: 'B', layerFrom: 4, layerTo: 4 }],
        steps: ['deposit'],
        what: '4 s instead of at most 3 s',
      },
    ]);
  });

  describe('where a build only finishes what another deposited', () => {
    const finishing = (steps: readonly ExpectedStep[]) => [
      { ...expected[0]!, steps, isFinishing: true as const },
      { ...expected[1]!, steps: [], isFinishing: true as const },
    ];
    const both = { expected: finishing([stepOf('peen', 1), stepOf('mill', 2)]) };
    const whole = (step: string): Omit<Sample, 'at'> => ({ zone: 'A', step, layer: '', oxygen: '10' });

    it('each step is due once, without layers or at any, and zones that are left as they are are not due', () => {
      expect(rulesInOrder([whole('peen'), whole('mill')], both)).toEqual([]);
      expect(rulesInOrder([...rowsOf('A', 'peen', [8]), ...rowsOf('A', 'mill', [3, 4])], both)).toEqual([]);
      expect(rulesInOrder([whole('peen')], both)).toMatchObject([
        {
          rule: 'step never logged',
          level: 'action',
          places: [{ zone: 'A', layerFrom: 1, layerTo: 8 }],
          steps: ['mill'],
        },
      ]);
      expect(rulesInOrder(rowsOf('B', 'mill', [1]), both)).toMatchObject([
        { rule: 'zone never logged', places: [{ zone: 'A' }] },
        { rule: 'unknown step', what: 'milling in B' },
      ]);
    });

    it('a zone may be peened and then milled as a whole, and no layer the other way round', () => {
      expect(rulesInOrder([...rowsOf('A', 'peen', all), ...rowsOf('A', 'mill', all)], both)).toEqual([]);
      expect(rulesInOrder([...rowsOf('A', 'mill', [2]), ...rowsOf('A', 'peen', [1, 2])], both)).toMatchObject([
        {
          rule: 'step out of order',
          places: [{ layerFrom: 2, layerTo: 2 }],
          what: 'peening after milling at the same layer',
        },
      ]);
      expect(rulesInOrder([whole('mill'), whole('peen')], both)).toMatchObject([{ rule: 'step out of order' }]);
    });

    it('a step without layers may be too short, and is never too long', () => {
      const timed = (shortestMs: number, longestMs: number) =>
        rulesInOrder([whole('mill'), whole('mill'), whole('mill')], {
          expected: finishing([{ ...stepOf('mill', 1), shortestMs, longestMs }]),
        });
      expect(timed(1000, 2000)).toEqual([]);
      expect(timed(5000, 9000)).toMatchObject([{ rule: 'step too short', what: '3 s instead of at least 5 s' }]);
    });
  });

  it('names zones, steps and layers that the lot does not know', () => {
    const strange = [...rowsOf('C', 'deposit', [3]), ...rowsOf('A', 'polish', [3]), ...rowsOf('B', 'deposit', [12])];
    expect(rulesOf([...complete, ...strange])).toEqual([
      {
        rule: 'unknown zone',
        level: 'action',
        places: [{ zone: null, layerFrom: null, layerTo: null }],
        steps: ['deposit'],
        what: 'C',
      },
      {
        rule: 'unknown step',
        level: 'alert',
        places: [{ zone: 'A', layerFrom: 3, layerTo: 3 }],
        steps: ['polish'],
        what: 'polish in A',
      },
      {
        rule: 'layers outside the zone',
        level: 'action',
        places: [{ zone: 'B', layerFrom: null, layerTo: null }],
        steps: ['deposit'],
        what: 'B',
      },
    ]);
  });

  it('a window on a channel that the log does not have cannot be kept', () => {
    const window = { ...planOf([{ high: 5 }]).windows[0]!, channel: 'moisture' };
    expect(rulesOf(complete, { windows: [window] })).toMatchObject([
      { rule: 'channel not logged', level: 'action', places: [{ zone: null, layerFrom: null }], what: 'moisture' },
    ]);
  });
});

describe('identity of a finding', () => {
  const idsOf = (plan: ScanPlan, samples = series([10, 60, 10])) =>
    found(samples, plan, 'excursion').map(({ id }) => id);

  it('is the same for the same facts and another for another build, value or limit', () => {
    const id = idsOf(planOf([{ high: 50 }]))[0];
    expect(idsOf(planOf([{ high: 50 }]), series([11, 60, 12]))).toEqual([id]);
    expect(idsOf(planOf([{ high: 50 }], { build: 'B2' }))).not.toEqual([id]);
    expect(idsOf(planOf([{ high: 49 }]))).not.toEqual([id]);
    expect(idsOf(planOf([{ high: 50 }]), series([10, 61, 10]))).not.toEqual([id]);
  });
});
