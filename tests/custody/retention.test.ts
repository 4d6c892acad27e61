import { retentionOfAll, retentionOfLot } from '../../src/custody/lot-retention.js';
import { latestRetention, type RetentionFacts, retentionOf, yearsAfter } from '../../src/report/retention.js';
import type { Services } from '../support/services.js';
import { cellWithRecord } from './folder.js';

const FACTS: RetentionFacts = {
  family: {
    route: 'patient-matched',
    classEu: 'III',
    lifetime: { years: 5, basis: 'absorbed after 3 years, follow-up 2' },
  },
  releasedOn: '2031-03-02',
  lastRecordedOn: '2031-04-01',
  familyLastReleasedOn: '2033-06-30',
  revoked: false,
  legalHold: null,
};

const family = (changes: Partial<RetentionFacts['family']>): RetentionFacts => ({
  ...FACTS,
  family: { ...FACTS.family, ...changes },
});

// Regulation (EU) 2017/745 article 10(8): 15 years after the last device was placed on the market, for implants; annex
// XIII section 4: the statement of a custom-made implant for 15 years. ISO 13485:2016 4.2.5: lifetime, not less than two
// years from release. 21 CFR 806.20: two years beyond the expected life (from memory).
it.each<[string, RetentionFacts, string | null, string]>([
  ['an EU implant: 15 years from the last unit of the family', FACTS, '2048-06-30', 'EU implants'],
  ['which moves on', { ...FACTS, familyLastReleasedOn: '2040-01-01' }, '2055-01-01', 'EU implants'],
  [
    'a custom-made one: 15 years from its own release',
    family({ route: 'custom-made' }),
    '2046-03-02',
    'EU custom-made implants',
  ],
  [
    'outside the EU: the lifetime',
    { ...FACTS, family: { route: 'market', lifetime: { years: 5, basis: 'x' } } },
    '2036-03-02',
    'lifetime of the device',
  ],
  [
    'a short lifetime: two years',
    { ...FACTS, family: { route: 'market', lifetime: { years: 1, basis: 'x' } } },
    '2033-03-02',
    'two years',
  ],
  ['a long lifetime', family({ lifetime: { years: 30, basis: 'x' } }), '2061-03-02', 'lifetime of the device'],
  [
    'a revoked release',
    { ...FACTS, revoked: true, family: { route: 'market', lifetime: { years: 5, basis: 'x' } } },
    '2038-03-02',
    'corrections and removals',
  ],
  [
    'nothing released: from the last fact',
    {
      ...FACTS,
      releasedOn: null,
      familyLastReleasedOn: null,
      family: { route: 'investigational', lifetime: { years: 4, basis: 'x' } },
    },
    '2035-04-01',
    'lifetime of the device',
  ],
  ['a legal hold: no end', { ...FACTS, legalHold: { since: '2032-01-01', reason: 'court' } }, null, 'legal hold'],
])('%s', (_, facts, until, rule) => {
  const found = retentionOf(facts);
  expect([found.until, found.rule]).toEqual([until, rule]);
  // Never shorter than any rule that applies; and every rule says why it does or does not.
  for (const one of found.rules) {
    if (one.applies && until !== null) expect(one.until! <= until).toBe(true);
    expect(one.says).toMatch(/\w{3}/);
  }
});

it('counts years by the calendar', () => {
  expect(yearsAfter('2028-02-29', 1)).toBe('2029-03-01');
  expect(yearsAfter('2028-02-29', 4)).toBe('2032-02-29');
  expect(yearsAfter('2031-12-31', 15)).toBe('2046-12-31');
});

it('keeps the audit trail as long as the last record that it covers', () => {
  const [short, long] = [retentionOf(FACTS), retentionOf({ ...FACTS, familyLastReleasedOn: '2040-01-01' })];
  const endless = retentionOf({ ...FACTS, legalHold: { since: '2032-01-01', reason: 'court' } });
  expect(latestRetention([long, short])).toBe(long);
  expect(latestRetention([long, endless, short])).toBe(endless);
  expect(latestRetention([])).toBeUndefined();
});

describe('over a data folder', () => {
  let services: Services;
  beforeAll(async () => {
    ({ services } = await cellWithRecord());
  });
  afterAll(() => services.store.close());

  it('reads family, releases and events of the lot', async () => {
    const { read } = services.store;
    const retention = await retentionOfLot(read, 'L-1');
    const recordedOn = (await read.entries.currentOrThrow('lot', 'L-1')).recordedAt.slice(0, 10);
    // The test family: custom-made, no EU class, a lifetime of five years.
    expect(retention).toMatchObject({ until: yearsAfter(recordedOn, 5), rule: 'lifetime of the device' });
    expect((await retentionOfAll(read)).get('L-1')).toEqual(retention);
    await expect(retentionOfLot(read, 'L-none')).rejects.toMatchObject({ code: 'NOT_FOUND' });
    const hold = { type: 'legal-hold-placed' as const, lot: 'L-1' };
    await services.store.change('person:P-QE', (change) => change.events.add(hold, 'a question of the court'));
    expect(await retentionOfLot(read, 'L-1')).toMatchObject({ until: null, rule: 'legal hold' });
  });
});
