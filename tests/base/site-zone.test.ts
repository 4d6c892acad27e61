import { DemoClock, SiteZone, systemClock } from '../../src/base/clock.js';

const demo = new SiteZone(new DemoClock(new Date('2031-03-03T08:00:00Z')));

it.each([
  ['2031-03-03T08:15:00+01:00', '2031-03-03T07:15'],
  ['2031-03-03T08:15:30Z', '2031-03-03T08:15:30'],
  ['2031-03-03T08:15:00.250Z', '2031-03-03T08:15:00.250'],
  ['yesterday', undefined],
  ['2031-13-03T08:15:00Z', undefined],
])('shows %s in a demo folder as %s', (moment, local) => {
  expect(demo.local(moment)).toBe(local);
});

it('reads what the clocks show, and leaves what is no such time', () => {
  expect(demo.moment('2031-03-03T08:15')).toBe('2031-03-03T08:15:00+00:00');
  for (const other of ['2031-03-03T08:15:00+01:00', '2031-13-03T08:15', '3 March', ''])
    expect(demo.moment(other)).toBe(other);
});

describe('where clocks are moved', () => {
  const zone = new SiteZone(systemClock);
  const before = process.env.TZ;
  beforeAll(() => {
    process.env.TZ = 'Europe/Zurich';
  });
  afterAll(() => {
    if (before === undefined) delete process.env.TZ;
    else process.env.TZ = before;
  });

  it.each([
    ['2031-01-15T08:15', '2031-01-15T08:15:00+01:00'],
    ['2031-07-15T08:15:30', '2031-07-15T08:15:30+02:00'],
    // The hour that comes twice: the first. The one that is left out: the next.
    ['2031-10-26T02:30', '2031-10-26T02:30:00+02:00'],
    ['2031-03-30T02:30', '2031-03-30T03:30:00+02:00'],
  ])('reads %s as %s', (local, moment) => {
    expect(zone.moment(local)).toBe(moment);
    expect(zone.moment(zone.local(moment)!)).toBe(moment);
  });
});
