import { canonicalJson } from '../../src/dossier/canonical.js';
import type { LedgerEntry } from '../../src/ledger/entry.js';
import { GrowingTree, leafHash } from '../../src/ledger/tree.js';
import { type StoredEntry, verifyLedger } from '../../src/ledger/verify-ledger.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';

const entry = (seq: number): LedgerEntry => ({
  type: 'dossier-frozen',
  version: 1,
  seq,
  at: '2031-05-06T07:08:09.000Z',
  offset: '+02:00',
  actor: 'local:test',
  tables: { Dossier: { rows: 1, sha256: seq.toString(16).padStart(64, '0') } },
  lot: `L-${seq}`,
  digest: seq.toString(16).padStart(64, '0'),
});

const stored = (seq: number, value: unknown = entry(seq)): StoredEntry => {
  const body = canonicalJson(value);
  return { seq, body, leaf: leafHash(body) };
};

const ledger = (size: number): StoredEntry[] => Array.from({ length: size }, (_, index) => stored(index + 1));

describe('verifying a ledger', () => {
  it.each([0, 1, 2, 3, 64, 100])('accepts %d untouched entries and gives their root', (size) => {
    const tree = new GrowingTree();
    for (const { leaf } of ledger(size)) tree.add(leaf);
    expect(verifyLedger(ledger(size))).toEqual({ ok: true, size, root: tree.root() });
  });

  it.each<[string, (entries: StoredEntry[]) => StoredEntry[], number, RegExp]>([
    [
      'an edited text',
      (all) => all.with(4, { ...all[4]!, body: all[4]!.body.replace('L-5', 'L-6') }),
      5,
      /not the text/,
    ],
    ['a flipped bit in a hash', (all) => all.with(6, { ...all[6]!, leaf: `0${all[6]!.leaf.slice(1)}x` }), 7, /hashed/],
    ['a removed entry', (all) => all.toSpliced(2, 1), 3, /entry 3 is missing: the next one is 4/],
    ['two entries in each other’s place', (all) => all.with(0, all[1]!).with(1, all[0]!), 1, /missing/],
    ['an entry under another number', (all) => all.with(3, { ...all[7]!, seq: 4 }), 4, /says that it is entry 8/],
    [
      'a text in another form, hashed again',
      (all) => {
        const body = JSON.stringify(JSON.parse(all[1]!.body), null, 1);
        return all.with(1, { seq: 2, body, leaf: leafHash(body) });
      },
      2,
      /canonical/,
    ],
    ['no JSON, hashed again', (all) => all.with(8, { seq: 9, body: 'x', leaf: leafHash('x') }), 9, /not JSON/],
    ['an unknown version', (all) => all.with(5, stored(6, { ...entry(6), version: 2 })), 6, /not a known entry/],
    ['a field of another type', (all) => all.with(5, stored(6, { ...entry(6), actor: 7 })), 6, /not a known entry/],
  ])('names the first bad entry: %s', (_what, tamper, seq, reason) => {
    const verdict = verifyLedger(tamper(ledger(10)));
    expect(verdict).toMatchObject({ ok: false, seq });
    expect(verdict.ok ? '' : storedFaultText(verdict.reason)).toMatch(reason);
  });

  it('gives another root when the last entries are cut, which a head kept elsewhere shows', () => {
    const whole = verifyLedger(ledger(10));
    const cut = verifyLedger(ledger(9));
    expect(whole.ok && cut.ok && whole.root !== cut.root && cut.size === 9).toBe(true);
  });
});
