import { assess } from '../../src/assessment/assess.js';
import type { CheckResult } from '../../src/assessment/assessment.js';
import { apart, exposuresOf } from '../../src/assessment/exposures.js';
import { ownValues } from '../../src/assessment/own-history.js';
import type { Facts } from '../../src/dossier/facts.js';
import { excludedBecause, ofExposure } from '../../src/dossier/pool.js';
import { basisWords, findingWords } from '../../src/report/assessment-words.js';
import { checkAll, statedChecks } from '../support/by-note/checks.js';
import { addExposures } from '../support/documents/exposures.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';
import { attachedOf, listed } from '../support/note-files.js';
import { signedFacts } from '../support/signed-facts.js';

let facts: Facts;
beforeAll(async () => {
  facts = await factsOf((cell) => addExposures(cell), '2031-12-01T12:00:00Z');
});

const factsWith = (change: (copy: Editable) => void) => listed(signedFacts(edited(facts, change)));
/** Changes an exposure: the list of documents follows. */
const exposed = (key: string, change: (body: Editable) => void) => (copy: Editable) =>
  change(copy.exposures.get(`L-1-${key}:1`).body);
const rateRow = (copy: Editable): Editable => copy.results.find((row: Editable) => row.characteristic === 'rate');

/** Four earlier builds of one value each. */
const earlierRates = (mean: number): Editable => {
  const spread = { mean, min: 0.9 * mean, max: 1.1 * mean };
  const squares = { sumSquaredDeviations: 1e-9, sumSquaredWithinBuilds: 0 };
  const buildSizes = [{ values: 1, builds: 4, mean, sumSquaredDeviations: 1e-9 }];
  return {
    ...{ characteristic: 'rate', head: { position: 1, digest: 'a'.repeat(64) }, excluded: [], builds: [], last: [] },
    pool: { n: 4, ...spread, ...squares, buildSizes, lots: 4, builds: 4 },
    takenOut: { values: 0, last: [] },
  };
};

const SPOILED: readonly [string, string, (copy: Editable) => void, CheckResult['outcome'], readonly string[]][] = [
  [
    'a control below its range, in a bath in which all of them lay',
    'control outside its range',
    exposed('W1:B', ({ control }) => Object.assign(control, { value: '0.24' })),
    'cannot be decided',
    ['L-1-I1', 'L-1-I2'],
  ],
  [
    'a control outside its range in a batch of its own',
    'control outside its range',
    exposed('W1:A', (body) => {
      body.batch = 'SBF-31-02';
      body.control.value = '0.41';
    }),
    'cannot be decided',
    ['L-1-I1'],
  ],
  [
    'another face',
    'not to stand together',
    exposed('W2:A', (body) => Object.assign(body, { face: 'milled' })),
    'cannot be decided',
    ['L-1-I1', 'L-1-I2'],
  ],
  [
    'another revision of the medium',
    'not to stand together',
    exposed('W2:A', ({ medium }) => Object.assign(medium, { revision: 2 })),
    'cannot be decided',
    ['L-1-I1', 'L-1-I2'],
  ],
  [
    'another revision of the method',
    'not to stand together',
    exposed('W2:A', ({ protocol }) => Object.assign(protocol, { revision: 2 })),
    'cannot be decided',
    ['L-1-I1', 'L-1-I2'],
  ],
  [
    'a medium that flows past one of them',
    'not to stand together',
    exposed('W2:A', (body) => Object.assign(body, { flowMlPerMin: '2' })),
    'cannot be decided',
    ['L-1-I1', 'L-1-I2'],
  ],
  [
    'another gas',
    'not to stand together',
    exposed('W2:A', (body) => Object.assign(body, { gas: 'nitrogen' })),
    'cannot be decided',
    ['L-1-I1', 'L-1-I2'],
  ],
  [
    'a bath at the temperature of the room',
    'not to stand together',
    exposed('W2:A', (body) => Object.assign(body, { temperatureC: '21.5' })),
    'cannot be decided',
    ['L-1-I1', 'L-1-I2'],
  ],
  [
    'two baths more than 2 °C apart, with the first between them',
    'not to stand together',
    (copy) => {
      const first = copy.exposures.get('L-1-W1:A:1');
      const baths = ['37', '35.5', '38.5'];
      copy.exposures.clear();
      copy.results = copy.results.filter(({ characteristic }: Editable) => characteristic !== 'rate');
      const row = rateRow(edited(facts, () => {}) as Editable);
      baths.forEach((temperatureC, index) => {
        const own = structuredClone(first);
        Object.assign(own.body, { temperatureC, exposure: String(index + 1) });
        delete own.body.control;
        copy.exposures.set(`L-1-W1:A:${index + 1}`, own);
        copy.results.push({ ...row, replicate: String(index + 1) });
      });
    },
    'cannot be decided',
    ['L-1-I1'],
  ],
  [
    'one that was sterilised before',
    'not to stand together',
    exposed('W1:A', (body) => Object.assign(body, { sterilisedIn: 'ST-1' })),
    'cannot be decided',
    ['L-1-I1', 'L-1-I2'],
  ],
  [
    'a value that was changed behind the exposure',
    'rate not as computed',
    (copy) => Object.assign(rateRow(copy), { value: '0.300000' }),
    'fails',
    ['L-1-I1'],
  ],
  [
    'an exposure of which a mass was changed behind the value',
    'rate not as computed',
    exposed('W1:A', ({ massG }) => Object.assign(massG, { afterCleaning: '1.90200' })),
    'fails',
    ['L-1-I1'],
  ],
  [
    'values a thousand times those of earlier builds',
    'far from the family',
    (copy) => {
      copy.exposures.delete('L-1-W2:A:1');
      copy.results = copy.results.filter((row: Editable) => row.characteristic !== 'rate' || row.specimen === 'L-1-W1');
      copy.history = { head: { position: 1, digest: 'a'.repeat(64) }, characteristics: [earlierRates(0.0005)] };
    },
    'cannot be decided',
    ['L-1-I1'],
  ],
  ['a value without its exposure', 'no exposure', (copy) => copy.exposures.delete('L-1-W2:A:1'), 'fails', ['L-1-I2']],
  [
    'less than its method asks',
    'less told than the method asks',
    (copy) => {
      copy.methods.get('TM-D rev 1').body.exposureTells = ['control', 'massG.blankLoss', 'deepestUm'];
      for (const { body } of copy.exposures.values()) body.massG.blankLoss = '0';
      for (const piece of ['A', 'C']) delete copy.exposures.get(`L-1-W2:${piece}:1`).body.control;
    },
    'cannot be decided',
    ['L-1-I2'],
  ],
  [
    'too little medium',
    'less medium than the method asks',
    exposed('W1:A', (body) => Object.assign(body, { volumeMl: '100' })),
    'cannot be decided',
    ['L-1-I1'],
  ],
];

describe('exposures of a lot', () => {
  const checkIn = (spoiled: Facts) =>
    assess(spoiled, 'test').checks.find(({ code }) => code === 'exposures-stand') as CheckResult;

  it('stand as they are', () => {
    const check = checkIn(factsWith(() => {}));
    expect([check.outcome, check.findings]).toEqual(['passes', []]);
    expect(basisWords(check)).toBe('exposures of 2 specimens, 2 rates computed again');
  });

  it('do not stand together with another duration in one characteristic', () => {
    const check = checkIn(
      factsWith(
        exposed('W2:A', (body) => {
          body.to = '2031-03-21T09:00:00+01:00';
        }),
      ),
    );
    expect(check.findings.map(({ rule }) => rule)).toEqual(['not to stand together', 'rate not as computed']);
    expect(findingWords(check.code, check.findings[0]!).says).toBe(
      'Values of rate do not stand together: duration 336 h of L-1-W1, 384 h of L-1-W2.',
    );
  });

  it.each(SPOILED)('%s: %s', (_, rule, change, outcome, units) => {
    const check = checkIn(factsWith(change));
    expect(check.findings.map((finding) => [finding.rule, finding.units])).toEqual([[rule, units]]);
    expect(check.outcome).toBe(outcome);
    const { says, clearedBy } = findingWords(check.code, check.findings[0]!);
    expect(`${says} ${clearedBy}`).not.toMatch(/undefined|NaN|\[object/);
  });

  it.each(SPOILED)('by the note alone the same: %s', (_, __, change) => {
    const spoiled = factsWith(change);
    const carried = attachedOf(spoiled, assess(spoiled, 'test'));
    expect(checkAll(carried)).toEqual(statedChecks(carried));
  });
});

it('go into the history of the family by medium, duration, face, zones, temperature, and whether they were sterilised before', () => {
  const own = ownValues(factsWith(exposed('W2:A', (body) => Object.assign(body, { sterilisedIn: 'ST-1' })))).filter(
    ({ item }) => item.source === 'exposure',
  );
  const common = { medium: 'SBF', mediumRevision: 1, hours: 336, face: 'peened', temperatureC: 37 };
  expect(own.map(({ context }) => [context.zoneClass, context.exposed])).toEqual([
    ['load-bearing', common],
    ['load-bearing', { ...common, sterilised: true }],
  ]);
});

it('differ by what is written of flow and temperature as numbers, not as texts', () => {
  const of = (change: (body: Editable, index: number) => void) => {
    const bodies = exposuresOf(factsWith((copy) => [...copy.exposures.values()].map(({ body }, n) => change(body, n))));
    return apart(bodies, true).map(({ what }) => what);
  };
  expect(of((body, index) => Object.assign(body, { flowMlPerMin: index % 2 === 0 ? '5' : '5.0' }))).toEqual([]);
  expect(of((body, index) => Object.assign(body, { flowMlPerMin: index % 2 === 0 ? '5' : '5.1' }))).toEqual(['flow']);
  // 17.1 less 15.1 is more than 2 in binary fractions.
  expect(of((body, index) => Object.assign(body, { temperatureC: index % 2 === 0 ? '15.1' : '17.1' }))).toEqual([]);
});

it('are pooled within 1 °C of the bath of the pool, so that no two of them are more than 2 °C apart', () => {
  const context = {
    ...{ machine: 'M', recipe: 'R', recipeRevision: 1, recipeGroup: 'G', method: 'T', methodRevision: 1 },
    ...{ ucum: 'mm/a', zoneClass: '' },
  };
  const bath = { medium: 'SBF', mediumRevision: 1, hours: 336, face: 'peened' };
  const pool = ofExposure(
    { recipeGroups: ['G'], machines: ['M'], methods: [{ method: 'T' }], ucum: 'mm/a' },
    { ...bath, temperatureC: 37 },
  );
  const why = (temperatureC: number) =>
    excludedBecause(pool, { ...context, exposed: { ...bath, temperatureC } }, '2031-01-01')?.code;
  expect([35, 35.9, 36, 37, 38, 38.1, 39].map(why)).toEqual([
    ...['temperature', 'temperature', undefined, undefined, undefined, 'temperature', 'temperature'],
  ]);
});
