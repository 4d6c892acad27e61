import { canonicalJson } from '../../src/dossier/canonical.js';
import { isKnownType, readEntry, subjectOfEntry } from '../../src/ledger/entry.js';
import { leafHash } from '../../src/ledger/tree.js';
import { LedgerCheck, verifyLedger } from '../../src/ledger/verify-ledger.js';
import { actText } from '../../src/report/phrases/trail-acts.js';
import { entryChanges } from '../../src/report/trail-changes.js';

const common = { version: 1, seq: 1, at: '2031-03-05T12:00:00.000Z', offset: '+00:00', actor: 'program', tables: {} };
const made = { ...common, type: 'folder-created', program: 'Lotwright' };
const counted = { ...common, seq: 2, type: 'shelf-counted', shelf: 'S-1' };
const stored = (entry: { seq: number }, text = canonicalJson(entry)) => ({
  seq: entry.seq,
  body: text,
  leaf: leafHash(text),
});

describe('an entry that only a later version knows', () => {
  it('counts, is hashed, and is named by its type', () => {
    const entry = readEntry(counted);
    expect(isKnownType(entry)).toBe(false);
    expect(actText(entry)).toBe('shelf counted (of a later version)');
    expect(subjectOfEntry(entry)).toEqual({ kind: 'entry', key: '2', revision: null });
    expect(entryChanges(entry)).toEqual([]);
    const check = new LedgerCheck();
    for (const one of [made, counted]) check.add(stored(one));
    expect(check.verdict()).toMatchObject({ ok: true, size: 2 });
    expect(check.laterTypes).toEqual(['shelf-counted']);
  });

  it('is read as what it is where it says more than its type did', () => {
    const entry = readEntry({ ...made, node: '30.0.0' });
    expect(isKnownType(entry)).toBe(true);
    expect(subjectOfEntry(entry)).toEqual({ kind: 'folder', key: 'data', revision: null });
  });

  it('is wrong like any other when it was changed', () => {
    const { leaf } = stored(counted);
    const changed = { seq: 2, body: canonicalJson({ ...counted, shelf: 'S-2' }), leaf };
    expect(verifyLedger([stored(made), changed])).toMatchObject({ ok: false, seq: 2 });
  });

  it.each([
    ['without what every entry says', { type: 'shelf-counted', seq: 2 }],
    ['with a wrong time', { ...counted, at: 'Monday' }],
    ['of a known type that lacks a fact', { ...common, type: 'folder-created' }],
    ['without a type', common],
  ])('is none %s', (_, value) => {
    expect(() => readEntry(value)).toThrow();
  });
});
