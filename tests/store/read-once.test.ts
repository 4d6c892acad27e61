import { ReadOnce } from '../../src/store/read-once.js';

it('reads a text once, however long it is, and holds none that is long', () => {
  const once = new ReadOnce<string>(3);
  const long = 'x'.repeat(100_000);
  const read = vi.fn((text: string) => text.slice(-1));
  const of = (text: string) => once.of(text, () => read(text));
  expect([`${long}a`, `${long}b`, 'short', `${long}a`, `${long}b`, 'short'].map(of)).toEqual([...'abtabt']);
  expect(read).toHaveBeenCalledTimes(3);
  const { kept } = once as unknown as { kept: Map<string, string> };
  expect(Math.max(...[...kept.keys()].map((key) => key.length))).toBeLessThan(1000);
});
