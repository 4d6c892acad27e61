import { Turns } from '../../src/base/turns.js';

/** Asks again and again, each time with so much work, and never waits by itself. */
async function asks(turns: Turns, times: number, workMs: number): Promise<void> {
  for (let n = 0; n < times; n++) {
    await turns.next();
    const until = performance.now() + workMs;
    while (performance.now() < until);
  }
}

it('hears others while somebody asks much', async () => {
  const turns = new Turns(5);
  const ended: string[] = [];
  const long = asks(turns, 40, 2).then(() => ended.push('long'));
  // Comes while the long one is under way, by a message and not in its stretch.
  const short = new Promise((resolve) => setImmediate(resolve))
    .then(() => asks(turns, 2, 1))
    .then(() => ended.push('short'));
  await Promise.all([long, short]);
  expect(ended).toEqual(['short', 'long']);
});

it('lets a short one go on without a pause', async () => {
  const turns = new Turns(1000);
  let turned = false;
  setImmediate(() => {
    turned = true;
  });
  await asks(turns, 20, 0);
  expect(turned).toBe(false);
});
