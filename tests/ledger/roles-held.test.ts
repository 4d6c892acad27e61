import type { Statement } from '../../src/dossier/statement.js';
import type { Event } from '../../src/ledger/event.js';
import { RolesHeld } from '../../src/ledger/roles-held.js';

const ADA = { type: 'account-made', person: 'A', name: 'Ada', identityCheckedOn: '2031-03-01' } as const;
const DEPUTY = { person: 'B', deputyFor: 'A', role: 'releaser' } as const;

/** Acts in their order, from entry 1 on. */
const after = (...events: Event[]) =>
  RolesHeld.from(
    events.map((event, index) => ({
      ...{ event, ledgerSeq: index + 1, at: '2031-03-01T08:00:00.000Z', offset: '+00:00' },
      ...{ actor: 'person:A', reason: null },
    })),
  );

const by = (code: string, deputyFor: string | null = null, at = '2031-03-05T12:00:00.000Z', offset = '+00:00') =>
  ({ person: { code, role: 'releaser', deputyFor }, at, offset }) as unknown as Statement;

it('says between which entries a person held a role', () => {
  const held = after(
    ADA,
    { type: 'role-given', person: 'A', role: 'releaser' },
    { type: 'role-taken', person: 'A', role: 'releaser' },
    { type: 'role-given', person: 'A', role: 'releaser' },
    { type: 'account-closed', person: 'A' },
  )!;
  expect([1, 2, 3, 4, 5, 6].map((entry) => held.isHeld(by('A'), entry))).toEqual([
    false,
    true,
    true,
    true,
    true,
    false,
  ]);
  expect(held.isHeld(by('B'), 4)).toBe(false);
});

it('lets a deputy act on the days named, by the clock of the place, while the other one holds the role', () => {
  const held = after(
    ADA,
    { type: 'role-given', person: 'A', role: 'releaser' },
    { type: 'deputy-named', ...DEPUTY, from: '2031-03-04', to: '2031-03-05' },
    { type: 'role-taken', person: 'A', role: 'releaser' },
    { type: 'role-given', person: 'A', role: 'releaser' },
    { type: 'deputy-ended', ...DEPUTY },
  )!;
  expect([2, 3, 5, 7].map((entry) => held.isHeld(by('B', 'A'), entry))).toEqual([false, true, true, false]);
  const on = (at: string, offset?: string) => held.isHeld(by('B', 'A', at, offset), 5);
  expect([on('2031-03-03T23:59:00Z'), on('2031-03-03T23:59:00Z', '+01:00'), on('2031-03-06T00:00:00Z')]).toEqual([
    ...[false, true, false],
  ]);
  expect(held.isHeld(by('B'), 5)).toBe(false);
});

it('says nothing where nobody has an account', () => {
  expect(after({ type: 'role-given', person: 'A', role: 'releaser' })).toBeUndefined();
});
