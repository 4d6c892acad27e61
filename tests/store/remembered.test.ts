import type { LedgerEntry } from '../../src/ledger/entry.js';
import { anyOf, ofType, Remembered, revisionsOf } from '../../src/store/remembered.js';
import type { Reads } from '../../src/store/repositories.js';

type Written = Pick<LedgerEntry, 'type'> & { readonly kind?: string };

/** A trail to which entries are added, and how often an answer over it was asked for. */
function trail() {
  const entries: Written[] = [];
  const ledger = {
    size: async () => entries.length,
    page: async (after: number, take: number) =>
      entries.slice(after, after + take).map((entry, at) => ({ body: JSON.stringify(whole(entry, after + at + 1)) })),
  };
  const asked = { times: 0, fails: false };
  const answer = async () => {
    asked.times += 1;
    if (asked.fails) throw new Error('not now');
    return asked.times;
  };
  return { entries, asked, answer, read: { ledger } as unknown as Reads };
}

const whole = ({ type, kind = 'lot' }: Written, seq: number) => ({
  ...{ version: 1, seq, at: '2031-03-04T08:00:00Z', offset: '+01:00', actor: 'local:ana', tables: {}, type },
  ...(type === 'revision-recorded' ? { kind, key: 'K-1', revision: 1, digest: '0'.repeat(64) } : {}),
  ...(type === 'capability-stated'
    ? { family: 'F', characteristic: 'rm', number: 1, digest: '0'.repeat(64) }
    : { program: 'a test', dossier: '0'.repeat(64), lot: 'L-1' }),
});

const revised = (kind: string): Written => ({ type: 'revision-recorded', kind });

describe('an answer that is remembered', () => {
  it.each([
    ['nothing was written', [], 1],
    ['something else was written', [revised('lot'), revised('method')], 1],
    ['a document of its kinds was', [revised('lot'), revised('receipt')], 2],
    ['an entry of its types was', [{ type: 'capability-stated' }], 2],
    ['so much was written that nobody looks through it', Array.from({ length: 500 }, () => revised('lot')), 2],
  ] as [string, Written[], number][])('is asked for anew when it has to be: %s', async (_, written, times) => {
    const { entries, asked, answer, read } = trail();
    const known = new Remembered(anyOf(revisionsOf('receipt', 'person'), ofType('capability-stated')), answer);
    expect(await known.of(read)).toBe(1);
    entries.push(...written);
    expect([await known.of(read), asked.times]).toEqual([times, times]);
    // What was looked through is not looked through again.
    entries.push(revised('lot'));
    expect(await known.of(read)).toBe(times);
  });

  it('is that of a day, is asked for once by many at a time, and forgets a question that failed', async () => {
    const { asked, answer, read } = trail();
    const known = new Remembered(revisionsOf('receipt'), answer);
    expect(await Promise.all(['a', 'a', 'a'].map((day) => known.of(read, day)))).toEqual([1, 1, 1]);
    expect(await known.of(read, 'b')).toBe(2);
    asked.fails = true;
    await expect(known.of(read, 'c')).rejects.toThrow('not now');
    asked.fails = false;
    expect(await known.of(read, 'c')).toBe(4);
  });

  it('counts what is written while it is answered as new', async () => {
    const { entries, asked, read } = trail();
    const slow = async () => {
      asked.times += 1;
      if (asked.times === 1) entries.push(revised('receipt'));
      return asked.times;
    };
    const known = new Remembered(revisionsOf('receipt'), slow);
    expect(await known.of(read)).toBe(1);
    expect(await known.of(read)).toBe(2);
  });
});
