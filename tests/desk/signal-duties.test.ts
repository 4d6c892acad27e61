import { signalDuties } from '../../src/desk/today/signal-duties.js';
import type { OpenSignal } from '../../src/lots/family-studies.js';

const signal = (characteristic: string, lot: string, at: string): OpenSignal => ({
  ...{ family: 'PLATE', characteristic, title: characteristic, outcomeDays: 14 },
  plan: { plan: 'CAP', revision: 1 },
  signal: {
    ...{ id: lot, rule: 'beyondLimit', points: [lot], lots: [lot], first: 0, last: 0, at, asks: true, outcome: null },
  },
});

it('asks once for each chart, by its oldest signal', () => {
  const duties = signalDuties(
    [
      signal('rm', 'L-3', '2031-03-09T08:00:00Z'),
      signal('rm', 'L-2', '2031-03-02T08:00:00Z'),
      signal('sa', 'L-3', '2031-03-09T08:00:00Z'),
    ],
    '2031-03-20',
  );
  expect(duties.map(({ what, of, by, overdue }) => [what, of!.text, by, overdue])).toEqual([
    [
      'Say what a signal came from: rm of family PLATE, a point beyond the limits of the chart at L-2, and 1 later one',
      ...['L-2', '2031-03-16', true],
    ],
    [
      'Say what a signal came from: sa of family PLATE, a point beyond the limits of the chart at L-3',
      'L-3',
      '2031-03-23',
      false,
    ],
  ]);
});
