import { BadInputError } from '../../src/base/errors.js';
import { revisionKey } from '../../src/dossier/facts.js';
import { type Build, Lot } from '../../src/kinds/lot.js';
import { Recipe } from '../../src/kinds/recipe.js';
import { checkPlan } from '../../src/process-logs/plan.js';
import { logsFromRecipe, planFromRecipe } from '../../src/process-logs/plan-from-recipe.js';
import type { ChannelUnits } from '../../src/process-logs/units-sidecar.js';

const parameters = [{ parameter: 'laser power', set: '300', ucum: 'W' }];

function recipeOf(changes: Record<string, unknown> = {}): Recipe {
  return Recipe.parse({
    kind: 'recipe',
    format: 1,
    recipe: 'R-PLATE',
    revision: 3,
    title: 'plate',
    group: 'plate',
    family: 'PLATE',
    machine: 'CELL-1',
    effectiveFrom: '2026-01-05T08:00:00Z',
    chamber: {
      windows: [
        {
          channel: 'oxygen',
          ucum: '[ppm]',
          above: { alert: '20', action: '50', reject: '100' },
          minimumDurationS: '5',
        },
        { channel: 'pressure', ucum: 'mbar', below: { action: '1005' } },
      ],
      inertChannels: ['pressure', 'oxygen'],
      joinBreaksWithinS: '2.5',
    },
    zones: [
      {
        zone: 'bridge',
        title: 'bridge span',
        class: 'bridge',
        layers: { from: 1, to: 40 },
        steps: [
          { step: 'deposit', everyLayers: 1, parameters },
          {
            step: 'peen',
            everyLayers: 4,
            parameters,
            windows: [
              {
                channel: 'peen-force',
                ucum: 'N',
                below: { reject: '40' },
                above: { reject: '50' },
                integralLimit: '12',
              },
              { channel: 'oxygen', ucum: '%', above: { reject: '0.006' } },
            ],
          },
        ],
      },
    ],
    ...changes,
  });
}

type Channels = Record<string, unknown>[];

function lotOf(channels: Channels): Lot {
  return Lot.parse({
    kind: 'lot',
    format: 1,
    lot: 'L-1',
    family: 'PLATE',
    specification: { specification: 'S', revision: 1 },
    opened: { by: 'P1', at: '2026-03-01T08:00:00Z' },
    builds: [
      {
        build: 'CELL-1-0042',
        machine: 'CELL-1',
        run: 42,
        closedAt: '2026-03-02T08:00:00+01:00',
        openedAt: '2026-03-02T17:00:00+01:00',
        operator: 'P1',
        powder: [{ state: 'PS-1', chargedG: '1000' }],
        log: { file: 'logs/run.csv', channels, nominalPeriodMs: 100, gapLimitMs: 2000, clockOffsetMs: -400 },
      },
    ],
    implants: [
      {
        serial: 'I-1',
        case: 'C-1',
        designIteration: 1,
        build: 'CELL-1-0042',
        recipe: { recipe: 'R-PLATE', revision: 3 },
        zones: [{ zone: 'I1-bridge', recipeZone: 'bridge', layers: { from: 5, to: 44 } }],
      },
    ],
    coupons: [
      {
        coupon: 'W-1',
        build: 'CELL-1-0042',
        recipe: { recipe: 'R-PLATE', revision: 3 },
        zones: [{ zone: 'W1-bridge', recipeZone: 'bridge', layers: { from: 1, to: 20 } }],
        standsFor: ['I-1'],
        rationale: 'same zone class',
      },
    ],
  });
}

const CHANNELS = [
  { channel: 'oxygen', ucum: '%' },
  { channel: 'pressure', ucum: 'Pa' },
  { channel: 'peen-force', ucum: 'N' },
  { channel: 'spindle-load', ucum: '%' },
];
const planOf = (channels: Channels = CHANNELS, recipe = recipeOf(), sidecar?: ChannelUnits) => {
  const lot = lotOf(channels);
  return planFromRecipe(
    lot,
    lot.builds[0]!,
    new Map([[revisionKey('R-PLATE', 3), recipe]]),
    sidecar && new Map([['logs/run.csv', sidecar]]),
  );
};

describe('plan from recipe', () => {
  const plan = planOf();

  it('is a plan that can be scanned by', () => {
    expect(() => checkPlan(plan)).not.toThrow();
  });

  it('takes each channel into the unit of its window, and leaves a channel without window as logged', () => {
    const common = { unitFrom: ['lot file'], dewPoint: null };
    expect(plan.channels).toEqual([
      { ...common, name: 'oxygen', ucum: '[ppm]', loggedUcum: '%' },
      { ...common, name: 'pressure', ucum: 'mbar', loggedUcum: 'Pa' },
      { ...common, name: 'peen-force', ucum: 'N', loggedUcum: 'N' },
      { ...common, name: 'spindle-load', ucum: null, loggedUcum: '%' },
    ]);
  });

  it('holds the windows of the chamber over the closure, once though two parts use the recipe', () => {
    const chamber = plan.windows.filter((window) => window.scope === 'closure');
    expect(chamber).toEqual([
      {
        channel: 'oxygen',
        level: 'alert',
        low: null,
        high: 20,
        minimumMs: 5000,
        integralLimit: null,
        scope: 'closure',
      },
      {
        channel: 'oxygen',
        level: 'action',
        low: null,
        high: 50,
        minimumMs: 5000,
        integralLimit: null,
        scope: 'closure',
      },
      {
        channel: 'oxygen',
        level: 'reject',
        low: null,
        high: 100,
        minimumMs: 5000,
        integralLimit: null,
        scope: 'closure',
      },
      {
        channel: 'pressure',
        level: 'action',
        low: 1005,
        high: null,
        minimumMs: null,
        integralLimit: null,
        scope: 'closure',
      },
    ]);
    expect(plan.closure).toEqual({ closedAt: '2026-03-02T08:00:00+01:00', openedAt: '2026-03-02T17:00:00+01:00' });
  });

  it('puts the windows of a step on the zone as logged and the layers at which it was built', () => {
    const scope = { zone: 'I1-bridge', step: 'peen', layerFrom: 5, layerTo: 44 };
    const own = plan.windows.filter((window) => window.scope !== 'closure' && window.scope.zone === 'I1-bridge');
    expect(own).toEqual([
      { channel: 'peen-force', level: 'reject', low: 40, high: 50, minimumMs: null, integralLimit: 12, scope },
      { channel: 'oxygen', level: 'reject', low: null, high: 60, minimumMs: null, integralLimit: null, scope },
    ]);
  });

  it('expects every zone with its layers and steps', () => {
    const steps = [
      { step: 'deposit', everyLayers: 1, shortestMs: null, longestMs: null },
      { step: 'peen', everyLayers: 4, shortestMs: null, longestMs: null },
    ];
    expect(plan.expected).toEqual([
      { zone: 'I1-bridge', layerFrom: 5, layerTo: 44, firstLayer: 5, steps },
      { zone: 'W1-bridge', layerFrom: 1, layerTo: 20, firstLayer: 1, steps },
    ]);
  });

  it('carries the inert channels, the join time, the periods and the clock offset', () => {
    expect(plan.inert).toEqual({ channels: ['oxygen', 'pressure'], joinMs: 2500 });
    expect(plan).toMatchObject({ build: 'CELL-1-0042', nominalPeriodMs: 100, gapLimitMs: 2000, clockOffsetMs: -400 });
  });

  it('refuses a unit that does not convert, naming channel and units', () => {
    const channels = [{ channel: 'oxygen', ucum: 'Cel' }, ...CHANNELS.slice(1)];
    expect(() => planOf(channels)).toThrow(BadInputError);
    expect(() => planOf(channels)).toThrow(/log\.channels\[0\]\.ucum: found Cel for oxygen.*\[ppm\]/);
  });

  it('refuses a build without log', () => {
    const lot = lotOf(CHANNELS);
    const { log: _, ...rest } = lot.builds[0]!;
    expect(() => planFromRecipe(lot, rest as Build, new Map())).toThrow(/CELL-1-0042, log: found no log/);
  });

  it('expects zones of an unknown recipe, without windows', () => {
    const lot = lotOf(CHANNELS);
    const bare = planFromRecipe(lot, lot.builds[0]!, new Map());
    expect(bare.windows).toEqual([]);
    expect(bare.expected.map((zone) => [zone.zone, zone.steps])).toEqual([
      ['I1-bridge', []],
      ['W1-bridge', []],
    ]);
  });
});

/** A recipe whose one step, peening, is as given. */
function peenedBy(step: Record<string, unknown>): Recipe {
  const zone = { zone: 'bridge', title: 'bridge span', class: 'bridge', layers: { from: 1, to: 40 } };
  return recipeOf({ zones: [{ ...zone, steps: [{ step: 'peen', everyLayers: 4, parameters, ...step }] }] });
}

describe('windows over some layers', () => {
  const window = { channel: 'peen-force', ucum: 'N', below: { reject: '40' } };
  const rangesOf = (layers: { from: number; to: number }) =>
    planOf(CHANNELS, peenedBy({ windows: [{ ...window, layers }] }))
      .windows.filter(({ channel }) => channel === 'peen-force')
      .map(({ scope }) => (scope === 'closure' ? scope : [scope.zone, scope.layerFrom, scope.layerTo]));

  it('are counted as the recipe counts, wherever the zone begins in the build', () => {
    expect(rangesOf({ from: 1, to: 3 })).toEqual([
      ['I1-bridge', 5, 7],
      ['W1-bridge', 1, 3],
    ]);
  });

  it('end with the zone, and do not hold for a coupon that has no such layers', () => {
    expect(rangesOf({ from: 19, to: 30 })).toEqual([
      ['I1-bridge', 23, 34],
      ['W1-bridge', 19, 20],
    ]);
    expect(rangesOf({ from: 21, to: 30 })).toEqual([['I1-bridge', 25, 34]]);
  });
});

describe('a build that continues an interrupted one', () => {
  const lot = lotOf(CHANNELS);
  const [first] = lot.builds;
  const second = {
    ...first!,
    build: 'CELL-1-0043',
    run: 43,
    closedAt: '2026-03-03T08:00:00+01:00',
    openedAt: '2026-03-03T17:00:00+01:00',
    continues: { build: 'CELL-1-0042', fromLayer: 15 },
  };
  const finishedIn = <Part extends { build: string }>(part: Part): Part => ({ ...part, build: second.build });
  const chained: Lot = {
    ...lot,
    builds: [first!, second],
    implants: lot.implants.map(finishedIn),
    coupons: lot.coupons.map(finishedIn),
  };
  const window = { channel: 'peen-force', ucum: 'N', below: { reject: '40' }, layers: { from: 1, to: 20 } };
  const recipes = new Map([[revisionKey('R-PLATE', 3), peenedBy({ windows: [window] })]]);
  const plans = chained.builds.map((build) => planFromRecipe(chained, build, recipes));

  it('expects of each build the layers that it made, and remembers where the zone began', () => {
    expect(
      plans.map((plan) => plan.expected.map((zone) => [zone.zone, zone.layerFrom, zone.layerTo, zone.firstLayer])),
    ).toEqual([
      [
        ['I1-bridge', 5, 14, 5],
        ['W1-bridge', 1, 14, 1],
      ],
      [
        ['I1-bridge', 15, 44, 5],
        ['W1-bridge', 15, 20, 1],
      ],
    ]);
  });

  it('puts a window on the layers that the recipe means, whichever build made them', () => {
    const ranges = plans.map((plan) =>
      plan.windows
        .filter(({ channel }) => channel === 'peen-force')
        .map(({ scope }) => (scope === 'closure' ? scope : [scope.zone, scope.layerFrom, scope.layerTo])),
    );
    expect(ranges).toEqual([
      [
        ['I1-bridge', 5, 14],
        ['W1-bridge', 1, 14],
      ],
      [
        ['I1-bridge', 15, 24],
        ['W1-bridge', 15, 20],
      ],
    ]);
  });
});

describe('settings and durations', () => {
  it('a setting that the log repeats must show the value of the recipe, in the unit of the recipe', () => {
    const set = { parameter: 'force', set: '0.045', ucum: 'kN', channel: 'force-set' };
    const force = { channel: 'force-set', ucum: 'N' };
    const plan = planOf([...CHANNELS, force], peenedBy({ parameters: [set] }));
    expect(plan.setValues).toEqual([
      { channel: 'force-set', value: 0.045, scope: { zone: 'I1-bridge', step: 'peen', layerFrom: 5, layerTo: 44 } },
      { channel: 'force-set', value: 0.045, scope: { zone: 'W1-bridge', step: 'peen', layerFrom: 1, layerTo: 20 } },
    ]);
    expect(plan.channels.find(({ name }) => name === 'force-set')).toMatchObject({ ucum: 'kN', loggedUcum: 'N' });
  });

  it('a setting without channel is not looked for', () => {
    expect(planOf().setValues).toEqual([]);
  });

  it('carries how long a step takes, in milliseconds', () => {
    const [zone] = planOf(CHANNELS, peenedBy({ durationS: { atLeast: '30.5', atMost: '60' } })).expected;
    expect(zone!.steps).toEqual([{ step: 'peen', everyLayers: 4, shortestMs: 30_500, longestMs: 60_000 }]);
  });
});

describe('units stated elsewhere', () => {
  const bare = CHANNELS.map(({ channel }) => ({ channel }));

  it('come from the sidecar, or are left to the unit row', () => {
    const [oxygen, pressure] = planOf(bare, recipeOf(), new Map([['oxygen', '%']])).channels;
    expect(oxygen).toMatchObject({ ucum: '[ppm]', loggedUcum: '%', unitFrom: ['sidecar'] });
    expect(pressure).toMatchObject({ ucum: 'mbar', loggedUcum: null, unitFrom: [] });
  });

  it('may stand in both when they mean the same', () => {
    const plan = planOf([{ channel: 'pressure', ucum: 'hPa' }], recipeOf(), new Map([['pressure', 'mbar']]));
    expect(plan.channels[0]).toMatchObject({ loggedUcum: 'hPa', unitFrom: ['lot file', 'sidecar'] });
  });

  it('are refused when lot file and sidecar disagree, and when the sidecar speaks of another channel', () => {
    expect(() => planOf(CHANNELS, recipeOf(), new Map([['oxygen', '[ppm]']]))).toThrow(
      /log\.channels\[0\]\.ucum: found % for oxygen here and \[ppm\] in the sidecar/,
    );
    expect(() => planOf(CHANNELS, recipeOf(), new Map([['argon', '%']]))).toThrow(/log\.units: found a unit for argon/);
  });
});

describe('several logs of one build', () => {
  const lot = lotOf(CHANNELS);
  const more = {
    file: 'logs/gas.csv',
    channels: [{ channel: 'argon' }, { channel: 'oxygen', ucum: '[ppm]' }],
    clockOffsetMs: 250,
  };
  const build: Build = { ...lot.builds[0]!, log: { ...lot.builds[0]!.log!, more: [more] } };
  const recipes = new Map([[revisionKey('R-PLATE', 3), recipeOf()]]);
  const sidecars = new Map([['logs/gas.csv', new Map([['argon', 'L/min']])]]);

  it('are planned each with its own channels and units, and taken together, the first named counting', () => {
    const logs = logsFromRecipe(lot, build, recipes, sidecars);
    expect(
      logs.map(({ file, channels }) => [file, channels.map(({ name, loggedUcum }) => [name, loggedUcum])]),
    ).toEqual([
      [
        'logs/run.csv',
        [
          ['oxygen', '%'],
          ['pressure', 'Pa'],
          ['peen-force', 'N'],
          ['spindle-load', '%'],
        ],
      ],
      [
        'logs/gas.csv',
        [
          ['argon', 'L/min'],
          ['oxygen', '[ppm]'],
        ],
      ],
    ]);
    const plan = planFromRecipe(lot, build, recipes, sidecars);
    expect(plan.channels.map(({ name }) => name)).toEqual([
      'oxygen',
      'pressure',
      'peen-force',
      'spindle-load',
      'argon',
    ]);
    expect(plan.channels[0]).toMatchObject({ loggedUcum: '%' });
    expect(() => checkPlan(plan)).not.toThrow();
  });
});

describe('dew points', () => {
  const moisture = { channel: 'moisture', ucum: 'Cel' };
  const window = { channel: 'moisture', ucum: '[ppm]', above: { alert: '20' } };
  const recipe = recipeOf({ chamber: { windows: [window], inertChannels: ['moisture'], joinBreaksWithinS: '2' } });

  it('carry over what they condense and at which pressure', () => {
    const dewPoint = { over: 'ice', pressureChannel: 'pressure' };
    const [, planned] = planOf(
      [
        { channel: 'pressure', ucum: 'mbar' },
        { ...moisture, dewPoint },
      ],
      recipe,
    ).channels;
    expect(planned).toMatchObject({ ucum: '[ppm]', loggedUcum: 'Cel' });
    expect(planned!.dewPoint).toEqual({ over: 'ice', pressureChannel: 'pressure', ambientChannel: null });
  });

  it('are refused without, with what to add', () => {
    expect(() => planOf([moisture], recipe)).toThrow(/found Cel for moisture.*add dewPoint: over ice or water/);
  });
});
