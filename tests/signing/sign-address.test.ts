import { signAddress, signAddresses } from '../../src/signing/sign-address.js';
import { thingFrom, thingText } from '../../src/signing/thing.js';

const things = Array.from({ length: 90 }, (_, index) =>
  thingFrom(`log finding:${String(index).padStart(12, '0')}#${'ab'.repeat(32)}`),
);

it('leads to one page with what fits into an address, and to further ones with the rest', () => {
  const found = signAddresses(things.map(thingText), 'decided');
  expect(found.length).toBeGreaterThan(1);
  expect(found.flatMap((one) => one.things)).toEqual(things.map(thingText));
  for (const [index, one] of found.entries()) {
    expect(one.href.length).toBeLessThanOrEqual(4000);
    const query = new URL(one.href, 'https://localhost').searchParams;
    expect([query.getAll('thing'), query.get('meaning')]).toEqual([one.things, 'decided']);
    const next = found[index + 1]?.things[0];
    if (next !== undefined) expect(signAddress([...one.things, next].map(thingFrom), 'decided')).toBeUndefined();
  }
});

it('names no more things than one act may have', () => {
  const short = Array.from({ length: 501 }, (_, index) => `a:${index}`);
  const found = signAddresses(short, 'decided');
  expect(Math.max(...found.map((one) => one.things.length))).toBeLessThanOrEqual(500);
  expect(found.flatMap((one) => one.things)).toEqual(short);
});

it('leads to one page for one thing', () => {
  const thing = thingFrom('lot file:L-1');
  expect(signAddress([thing], 'reviewed')).toBe('/sign?meaning=reviewed&thing=lot%20file%3AL-1');
});
