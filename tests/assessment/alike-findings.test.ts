import fc from 'fast-check';
import { coverageOf } from '../../src/assessment/coverage.js';
import { logFindingsOf } from '../../src/assessment/log-findings.js';
import { digestOf } from '../../src/dossier/canonical.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { LogFinding } from '../../src/dossier/schema.js';
import { findingText, whereText } from '../../src/report/phrases/log-finding.js';

const zone = (name: string) => [{ zone: name, recipeZone: 'span', layers: { from: 1, to: 40 } }];

/** A lot of two implants and a coupon in one build, with these findings in its log. */
const factsWith = (findings: readonly LogFinding[], lot = 'L-1'): Facts =>
  ({
    dossier: { signatures: [] },
    lot: {
      body: {
        lot,
        builds: [{ build: 'B1' }],
        implants: [
          { serial: 'I1', build: 'B1', zones: zone('z1') },
          { serial: 'I2', build: 'B1', zones: zone('z2') },
        ],
        coupons: [{ coupon: 'W1', build: 'B1', standsFor: ['I1'], zones: zone('z3') }],
      },
    },
    logParts: new Map([['B1', { findings }]]),
  }) as unknown as Facts;

const MINUTE_MS = 60_000;
const at = (ms: number): string => new Date(Date.UTC(2031, 2, 3) + ms).toISOString();

/** A spike of so many milliseconds that begins with a minute. */
function spike(minute: number, extra: Partial<LogFinding> = {}): LogFinding {
  const body = {
    ...{ build: 'B1', rule: 'excursion', level: 'action' as const, channel: 'oxygen', ucum: '[ppm]' },
    startedAt: at(minute * MINUTE_MS),
    endedAt: at(minute * MINUTE_MS + 500),
    places: [{ zone: 'z1', layerFrom: 3 + (minute % 7), layerTo: 3 + (minute % 7) }],
    steps: ['deposit'],
    facts: { direction: 'high' as const, worst: 60, limit: 50, durationMs: 500, rows: 2 },
    ...extra,
  };
  return { id: digestOf(body), ...body };
}

const spikes = (count: number, extra: (minute: number) => Partial<LogFinding> = () => ({})): LogFinding[] =>
  Array.from({ length: count }, (_, minute) => spike(minute, extra(minute)));

describe('findings alike', () => {
  it('are one for people: 1 200 spikes of oxygen in layers 3 to 9', () => {
    const found = spikes(1200, (minute) =>
      minute === 700 ? { facts: { direction: 'high', worst: 88.5, limit: 50, durationMs: 2500, rows: 9 } } : {},
    );
    const judged = logFindingsOf(factsWith(found));
    expect(judged).toHaveLength(1);
    const [group] = judged;
    expect(group!.members).toEqual(found);
    // 1 199 × 0.5 s and once 2.5 s.
    expect(findingText(group!)).toBe(
      'excursion of oxygen to 88.5 ppm (action level 50), 1200 times, for 602 s in all, at most 2.5 s at a time',
    );
    expect(whereText(group!)).toBe('zone z1, layers 3 to 9, during deposition');
    expect([group!.startedAt, group!.endedAt]).toEqual([found[0]!.startedAt, found[1199]!.endedAt]);
  });

  it('stand alone up to ten', () => {
    expect(logFindingsOf(factsWith(spikes(10)))).toHaveLength(10);
    expect(logFindingsOf(factsWith(spikes(11)))).toHaveLength(1);
    expect(logFindingsOf(factsWith(spikes(10)))[4]!.members).toEqual([spike(4)]);
  });

  it.each<[string, Partial<LogFinding>]>([
    ['level', { level: 'alert' }],
    ['channel', { channel: 'moisture' }],
    ['rule', { rule: 'missing values' }],
    ['side of the window', { facts: { direction: 'low', worst: 1, limit: 2 } }],
    ['cause', { rule: 'machine condition', facts: { what: { code: 'channel', channel: 'door' } } }],
    ['implant', { places: [{ zone: 'z2', layerFrom: 3, layerTo: 3 }] }],
    ['coupon', { places: [{ zone: 'z3', layerFrom: 3, layerTo: 3 }] }],
  ])('are parted by their %s', (_what, other) => {
    const found = [...spikes(11), ...spikes(11, (minute) => ({ startedAt: at((minute + 100) * MINUTE_MS), ...other }))];
    expect(logFindingsOf(factsWith(found)).map(({ members }) => members.length)).toEqual([11, 11]);
  });

  it('have an identity that changes with every member and with the lot, and not with their order', () => {
    const idOf = (found: readonly LogFinding[], lot?: string) => logFindingsOf(factsWith(found, lot))[0]!.id;
    const found = spikes(20);
    const id = idOf(found);
    expect(idOf([...found].reverse())).toBe(id);
    expect(idOf(found, 'L-2')).not.toBe(id);
    expect(idOf(spikes(21))).not.toBe(id);
    expect(idOf([spike(0, { facts: { worst: 61 } }), ...found.slice(1)])).not.toBe(id);
  });

  it('touch together what each of them touches, whatever their places', () => {
    const place = fc.record({
      zone: fc.constantFrom('z1', 'z2', 'z3', 'elsewhere', null),
      layers: fc.option(fc.tuple(fc.integer({ min: 1, max: 50 }), fc.nat(10))),
    });
    const places = fc.array(
      place.map(({ zone: name, layers }) => ({
        zone: name,
        layerFrom: layers?.[0] ?? null,
        layerTo: layers ? layers[0] + layers[1] : null,
      })),
      { minLength: 1, maxLength: 3 },
    );
    fc.assert(
      fc.property(fc.array(places, { minLength: 11, maxLength: 60 }), (all) => {
        const found = all.map((own, minute) => spike(minute, { places: own }));
        const facts = factsWith(found);
        for (const judged of logFindingsOf(facts)) {
          for (const member of judged.members) expect(coverageOf(facts, member)).toEqual(coverageOf(facts, judged));
        }
        const members = logFindingsOf(facts).flatMap((judged) => judged.members);
        expect(members.map(({ id }) => id).sort()).toEqual(found.map(({ id }) => id).sort());
      }),
    );
  });
});

it('leaves out exactly the milder excursions that a more severe one tells, as comparing every pair does', () => {
  const levels = ['alert', 'action', 'reject'] as const;
  const excursion = fc.record({
    level: fc.constantFrom(...levels),
    from: fc.nat(30),
    length: fc.nat(10),
    channel: fc.constantFrom('oxygen', 'moisture'),
    direction: fc.constantFrom('high', 'low'),
    zone: fc.constantFrom('z1', 'z2', null),
    rule: fc.constantFrom('excursion', 'excursion', 'excursion', 'gap'),
  });
  fc.assert(
    fc.property(fc.array(excursion, { maxLength: 10 }), (drawn) => {
      const found = drawn.map(({ level, from, length, channel, direction, zone: name, rule }, number) =>
        spike(number, {
          ...{ rule, level, channel, startedAt: at(from), endedAt: at(from + length) },
          places: [{ zone: name, layerFrom: null, layerTo: null }],
          facts: { direction, rows: number },
        }),
      );
      const facts = factsWith(found);
      const touched = (finding: LogFinding) => coverageOf(facts, finding).implants;
      const tells = (severe: LogFinding, mild: LogFinding): boolean =>
        severe.rule === 'excursion' &&
        mild.rule === 'excursion' &&
        severe.channel === mild.channel &&
        severe.facts.direction === mild.facts.direction &&
        levels.indexOf(severe.level) > levels.indexOf(mild.level) &&
        severe.startedAt! >= mild.startedAt! &&
        severe.endedAt! <= mild.endedAt! &&
        touched(mild).every((implant) => touched(severe).includes(implant));
      const expected = found.filter((mild) => !found.some((severe) => tells(severe, mild)));
      expect(logFindingsOf(facts).map(({ id }) => id)).toEqual(expected.map(({ id }) => id));
    }),
    { numRuns: 300 },
  );
});
