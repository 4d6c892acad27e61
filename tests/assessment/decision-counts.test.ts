import { type DecidedFinding, decisionCounts, findingKind, layersText } from '../../src/assessment/log-findings.js';
import type { LogFinding } from '../../src/dossier/schema.js';

/** Repeated acceptance of one kind of finding is a trend and must show as a count (domain rule). */

const decided = (lot: string, kind: string, outcome: DecidedFinding['outcome'], at: string): DecidedFinding => ({
  kind,
  outcome,
  lot,
  at,
});

it('counts acceptances and rejections of each kind, with the lots and the times, whatever the order', () => {
  const decisions = [
    decided('L-2', 'gap, action level', 'accepted', '2031-02-01T10:00:00+01:00'),
    decided('L-1', 'excursion of oxygen, action level, high', 'accepted', '2031-01-09T10:00:00Z'),
    decided('L-3', 'excursion of oxygen, action level, high', 'accepted', '2031-03-09T10:00:00Z'),
    decided('L-1', 'excursion of oxygen, action level, high', 'rejected', '2031-01-10T10:00:00Z'),
    decided('L-1', 'excursion of oxygen, action level, high', 'accepted', '2031-01-08T23:30:00-02:00'),
  ];
  const expected = [
    {
      kind: 'excursion of oxygen, action level, high',
      accepted: 3,
      rejected: 1,
      lots: ['L-1', 'L-3'],
      firstAt: '2031-01-08T23:30:00-02:00',
      lastAt: '2031-03-09T10:00:00Z',
    },
    {
      kind: 'gap, action level',
      accepted: 1,
      rejected: 0,
      lots: ['L-2'],
      firstAt: '2031-02-01T10:00:00+01:00',
      lastAt: '2031-02-01T10:00:00+01:00',
    },
  ];
  expect(decisionCounts(decisions)).toEqual(expected);
  expect(decisionCounts([...decisions].reverse())).toEqual(expected);
  expect(decisionCounts([])).toEqual([]);
});

it('names a kind by rule, channel, level and side, and not by place or time', () => {
  const finding = {
    rule: 'excursion',
    channel: 'oxygen',
    level: 'action',
    facts: { direction: 'high', worst: 60 },
  } as unknown as LogFinding;
  expect(findingKind(finding)).toBe('excursion of oxygen, action level, high');
  expect(findingKind({ ...finding, rule: 'gap', channel: null, facts: {} })).toBe('gap, action level');
});

it.each([
  [[{ from: 4, to: 4 }], 'layer 4'],
  [[{ from: 4, to: 6 }], 'layers 4 to 6'],
  [
    [
      { from: 2, to: 3 },
      { from: 8, to: 8 },
    ],
    'layers 2 to 3 and 8',
  ],
])('says layers in words: %j', (ranges, text) => {
  expect(layersText(ranges)).toBe(text);
});
