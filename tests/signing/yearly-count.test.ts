import type { Facts } from '../../src/dossier/facts.js';
import { conditionText } from '../../src/report/phrases/release-conditions.js';
import { releaseConditions } from '../../src/signing/release-conditions.js';
import type { Reads } from '../../src/store/repositories.js';
import { edited, factsOf } from '../support/lot-facts.js';

/** Custom-made devices of one type under the law US: five cases a year, whatever anybody signs. */

const LAWS = [{ law: 'US', route: 'custom-made', deviceType: 'plate' }];
let facts: Facts;
beforeAll(async () => {
  facts = edited(await factsOf(), (copy) => {
    copy.family.body.laws = LAWS;
  });
});

/** A store that knows of so many cases with a released implant each, and of the two cases of the lot. */
function reads(released: number, { year = '2031', law = 'US' } = {}): Reads {
  const earlier = Array.from({ length: released }, (_, index) => `E-${index}`);
  const statement = (code: string) => ({
    ledgerSeq: 1,
    signed: {
      statement: { meaning: 'released', step: 'distribution', units: [`${code}-1`], at: `${year}-02-03T10:00:00.000Z` },
    },
  });
  const body = (code: string) => ({ family: 'PLATE', usedUnder: code.startsWith('E') ? law : 'US' });
  return {
    entries: {
      list: async (kind: string) =>
        kind === 'family'
          ? [{ key: 'PLATE', body: { ...facts.family.body, laws: [...LAWS, { law: 'EU', route: 'custom-made' }] } }]
          : [...earlier, 'K-101-1', 'K-101-2'].map((key) => ({ key, body: body(key) })),
      unitsOfCase: async (code: string) => (earlier.includes(code) ? [{ serial: `${code}-1`, lot: `L-${code}` }] : []),
    },
    signatures: { of: async ({ key }: { key: string }) => [statement(key.slice('L-'.length))] },
    events: { of: async () => [] },
  } as unknown as Reads;
}

const counted = async (read: Reads, units: readonly string[]) => {
  const asked = { facts, units, day: '2031-11-03', now: new Date('2031-11-03T10:00:00Z'), demo: true };
  const found = (await releaseConditions(read, asked)).filter(({ condition }) => condition.startsWith('yearly'));
  return found.map((one) => [one.condition, one.state, one.facts.cases, conditionText(one)]);
};
const ONE = ['L-1-I1'];

it.each([
  [0, 'yearly count', 'holds', '1'],
  [2, 'yearly count', 'holds', '3'],
  [3, 'yearly count', 'warns', '4'],
  [4, 'yearly count', 'warns', '5'],
  [5, 'yearly count exceeded', 'does not hold', '6'],
])('after %i cases of the year: %s, %s', async (released, condition, state, cases) => {
  expect(await counted(reads(released), ONE)).toEqual([
    [condition, state, cases, expect.stringContaining(`${cases} cases in 2031 of type plate`)],
  ]);
});

it('counts each case of the release, and no case of another year or law', async () => {
  expect((await counted(reads(4), [...ONE, 'L-1-I2']))[0]!.slice(0, 3)).toEqual([
    'yearly count exceeded',
    'does not hold',
    '6',
  ]);
  expect((await counted(reads(9, { year: '2030' }), ONE))[0]!.slice(0, 3)).toEqual(['yearly count', 'holds', '1']);
  expect((await counted(reads(9, { law: 'EU' }), ONE))[0]!.slice(0, 3)).toEqual(['yearly count', 'holds', '1']);
});
