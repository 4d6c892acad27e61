import type { Statement } from '../../src/dossier/statement.js';
import type { Event, RecordedEvent } from '../../src/ledger/event.js';
import { unitStates } from '../../src/lots/unit-states.js';
import { lotStateText } from '../../src/report/phrases/lot-state.js';

const UNITS = ['A', 'B', 'C'];
const at = '2031-03-05T12:00:00.000Z';

type Step = NonNullable<Statement['step']>;

const statement = (
  ledgerSeq: number,
  meaning: Statement['meaning'],
  units: readonly string[],
  step: Step = 'distribution',
) => ({
  ledgerSeq,
  signed: { statement: { meaning, units, step: meaning === 'released' ? step : null, at } as Statement },
});
const event = (ledgerSeq: number, what: Event, reason = 'invented') =>
  ({ event: what, ledgerSeq, actor: 'person:P-QE', at, reason }) as RecordedEvent;
const hold = (seq: number, units: string[]) => event(seq, { type: 'hold-placed', lot: 'L', units }, 'fell down');
const lift = (seq: number, units: string[]) => event(seq, { type: 'hold-lifted', lot: 'L', units });
const revoke = (seq: number, units: string[], step: Step = 'distribution') =>
  event(seq, { type: 'release-revoked', lot: 'L', units, step });

const decisions = (...[statements, events = []]: [ReturnType<typeof statement>[], RecordedEvent[]?]) =>
  unitStates(UNITS, statements, events).map(({ decision }) => decision);

it('follows from statements and events in the order of the audit trail, in whatever order they are read', () => {
  const statements = [statement(9, 'released', ['A']), statement(3, 'released', ['A', 'B'])];
  expect(decisions(statements, [revoke(5, ['A', 'B'])])).toEqual(['released', 'revoked', 'open']);
  expect(decisions([...statements].reverse(), [revoke(5, ['A', 'B'])])).toEqual(['released', 'revoked', 'open']);
  expect(decisions(statements, [revoke(10, ['A'])])).toEqual(['revoked', 'released', 'open']);
});

it('revokes what was released, and nothing else', () => {
  expect(decisions([statement(3, 'rejected', ['A'])], [revoke(5, ['A', 'B'])])).toEqual(['rejected', 'open', 'open']);
});

describe('a release names its step', () => {
  const sterilise = (seq: number) => statement(seq, 'released', ['A'], 'sterilisation');
  const distribute = (seq: number) => statement(seq, 'released', ['A']);
  const reject = (seq: number) => statement(seq, 'rejected', ['A']);

  it.each<[string, Parameters<typeof unitStates>[1], RecordedEvent[], string, Step[]]>([
    ['for sterilisation', [sterilise(1)], [], 'released', ['sterilisation']],
    ['for both, one after the other', [sterilise(1), distribute(2)], [], 'released', ['sterilisation', 'distribution']],
    ['for distribution alone, where nothing is sterilised', [distribute(1)], [], 'released', ['distribution']],
    ['the last one revoked', [sterilise(1), distribute(2)], [revoke(3, ['A'])], 'revoked', ['sterilisation']],
    [
      'both revoked',
      [sterilise(1), distribute(2)],
      [revoke(3, ['A']), revoke(4, ['A'], 'sterilisation')],
      'revoked',
      [],
    ],
    [
      'the first one revoked: what rests on it falls',
      [sterilise(1), distribute(2)],
      [revoke(3, ['A'], 'sterilisation')],
      'revoked',
      [],
    ],
    ['a step revoked for which nothing stands', [sterilise(1)], [revoke(2, ['A'])], 'released', ['sterilisation']],
    [
      'once more after the revocation',
      [sterilise(1), distribute(2), distribute(4)],
      [revoke(3, ['A'])],
      'released',
      ['sterilisation', 'distribution'],
    ],
    ['rejected after sterilisation', [sterilise(1), reject(2)], [], 'rejected', []],
    ['reviewed again', [sterilise(1), statement(2, 'reviewed', ['A'])], [], 'released', ['sterilisation']],
  ])('%s', (_, statements, events, decision, releasedFor) => {
    const [state] = unitStates(['A'], statements, events);
    expect(state).toMatchObject({ decision, releasedFor });
    expect(state!.releases.map(({ step }) => step)).toEqual(releasedFor);
  });

  it('keeps of several releases the one that was revoked', () => {
    const [state] = unitStates(['A'], [sterilise(1), distribute(2)], [revoke(3, ['A'])]);
    expect(state).toMatchObject({ statement: { step: 'distribution' }, revoked: { step: 'distribution' } });
  });
});

it('keeps the statement of a revoked release, with who revoked it and why', () => {
  const [first] = unitStates(['A'], [statement(3, 'released', ['A'])], [revoke(5, ['A'])]);
  expect(first!.statement).toMatchObject({ meaning: 'released' });
  expect(first!.revoked).toEqual({ by: 'person:P-QE', at, reason: 'invented', step: 'distribution' });
});

it('lays a hold over whatever was decided, until it is lifted', () => {
  const states = unitStates(UNITS, [statement(3, 'released', ['A'])], [hold(4, ['A', 'B']), lift(5, ['B'])]);
  expect(states.map(({ decision, hold: held }) => [decision, held?.reason])).toEqual([
    ['released', 'fell down'],
    ['open', undefined],
    ['open', undefined],
  ]);
});

it('takes reviews for no decision', () => {
  expect(decisions([statement(3, 'reviewed', UNITS)])).toEqual(['open', 'open', 'open']);
});

describe('the state of a lot in words', () => {
  const text = (statements: ReturnType<typeof statement>[], events: RecordedEvent[] = []) =>
    lotStateText(unitStates(UNITS, statements, events));

  it.each([
    ['in review', [], []],
    ['in review; on hold', [], [hold(1, UNITS)]],
    ['in review; 1 of 3 on hold', [], [hold(1, ['B'])]],
    ['released for distribution', [statement(1, 'released', UNITS)], []],
    ['released for sterilisation, not for distribution', [statement(1, 'released', UNITS, 'sterilisation')], []],
    [
      '2 of 3 released for sterilisation, not for distribution; 1 of 3 released for distribution',
      [statement(1, 'released', UNITS, 'sterilisation'), statement(2, 'released', ['C'])],
      [],
    ],
    ['rejected', [statement(1, 'rejected', UNITS)], []],
    ['2 of 3 released for distribution; 1 not decided', [statement(1, 'released', ['A', 'B'])], []],
    ['rejected in part, 1 of 3', [statement(1, 'rejected', ['A'])], []],
    [
      '2 of 3 released for distribution; 1 rejected',
      [statement(1, 'released', ['A', 'B']), statement(2, 'rejected', ['C'])],
      [],
    ],
    ['release revoked for 1 of 3', [statement(1, 'released', UNITS)], [revoke(2, ['C'])]],
    ['released for distribution; 1 of 3 on hold', [statement(1, 'released', UNITS)], [hold(2, ['C'])]],
  ])('is "%s"', (says, statements, events) => {
    expect(text(statements, events)).toBe(says);
  });

  it('is that of a build without implants', () => {
    expect(lotStateText([])).toBe('a build without implants');
  });
});
