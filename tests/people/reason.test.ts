import { givenReason } from '../../src/people/reason.js';

const problemOf = (text: string, remedy?: string): unknown => {
  try {
    return givenReason(text, remedy);
  } catch (error) {
    return (error as { facts: { problems: unknown[] } }).facts.problems[0];
  }
};

it('is trimmed, and neither nothing nor too long, however it comes', () => {
  expect(givenReason('  label unreadable ')).toBe('label unreadable');
  expect(givenReason('x'.repeat(4000))).toHaveLength(4000);
  expect(problemOf(' \n')).toMatchObject({ field: 'reason', found: 'nothing', expected: 'a reason' });
  expect(problemOf('', 'say why the key changes')).toMatchObject({ remedy: 'say why the key changes' });
  expect(problemOf('x'.repeat(4001))).toMatchObject({ found: '4001 characters', expected: 'at most 4000 characters' });
});
