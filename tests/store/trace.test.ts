import type { NewLink } from '../../src/store/entries.js';
import type { Store } from '../../src/store/store.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

let folder: string;
let remove: () => void;
let store: Store;

beforeEach(async () => {
  ({ folder, remove } = temporaryFolder());
  store = await openStore(folder);
});
afterEach(async () => {
  await store.close();
  remove();
});

const state = (key: string) => ({ kind: 'powder-state', key });

/** Stores a powder state with what it contains: key → grams. */
const blend = (key: string, parts: Readonly<Record<string, string>> = {}): Promise<number> =>
  store.change(ACTOR, (change) => {
    const links = Object.entries(parts).map(([part, massG]): NewLink => ({ name: 'contains', to: state(part), massG }));
    return change.entries.add({ ...state(key), name: `Powder ${key}`, body: { parts }, links, reason: 'test' });
  });

async function reach(key: string, direction: 'back' | 'forward') {
  const [entry] = await store.read.trace.named(key);
  const { entries, ties } = await store.read.trace.reach([entry!.id], direction);
  const keyOf = new Map(entries.map((item) => [item.id, item.key]));
  return {
    depths: Object.fromEntries(entries.map((item) => [item.key, item.depth])),
    ties: ties.map((tie) => `${keyOf.get(tie.source)} ${tie.name} ${keyOf.get(tie.target)} ${tie.massG}`).sort(),
  };
}

describe('tracing', () => {
  it('goes back to all that a thing was made of, and forward to all that was made of it', async () => {
    await blend('heat');
    await blend('P1', { heat: '5000' });
    await blend('P2', { heat: '3000' });
    await blend('P3', { P1: '1200.5', P2: '800', heat: '10' });
    await blend('other');
    expect(await reach('P3', 'back')).toEqual({
      depths: { P3: 0, P1: 1, P2: 1, heat: 1 },
      ties: [
        'P1 contains heat 5000',
        'P2 contains heat 3000',
        'P3 contains P1 1200.5',
        'P3 contains P2 800',
        'P3 contains heat 10',
      ],
    });
    expect((await reach('heat', 'forward')).depths).toEqual({ heat: 0, P1: 1, P2: 1, P3: 1 });
    expect(await reach('P2', 'forward')).toEqual({ depths: { P2: 0, P3: 1 }, ties: ['P3 contains P2 800'] });
    expect(await reach('other', 'back')).toEqual({ depths: { other: 0 }, ties: [] });
  });

  it('follows a powder that was topped up every week for years to its very first state', async () => {
    await blend('T0');
    for (let week = 1; week <= 120; week += 1) await blend(`T${week}`, { [`T${week - 1}`]: '100' });
    const back = await reach('T120', 'back');
    expect(Object.keys(back.depths)).toHaveLength(121);
    expect(back.depths.T0).toBe(120);
    expect((await reach('T0', 'forward')).depths.T120).toBe(120);
  });

  it('is not slowed by the number of paths through blends of blends', async () => {
    await blend('A0');
    await blend('B0');
    // 2^60 paths lead from the last level to the first.
    for (let level = 1; level <= 60; level += 1) {
      await blend(`A${level}`, { [`A${level - 1}`]: '1', [`B${level - 1}`]: '1' });
      await blend(`B${level}`, { [`A${level - 1}`]: '1', [`B${level - 1}`]: '1' });
    }
    const { depths, ties } = await reach('A60', 'back');
    expect(Object.keys(depths)).toHaveLength(121);
    expect(depths.B0).toBe(60);
    expect(ties).toHaveLength(2 + 4 * 59);
  });

  it('follows the latest revision only', async () => {
    await blend('heat-1');
    await blend('heat-2');
    await blend('P1', { 'heat-1': '100' });
    await blend('P1', { 'heat-2': '100' });
    expect((await reach('P1', 'back')).depths).toEqual({ P1: 0, 'heat-2': 1 });
    expect((await reach('heat-1', 'forward')).depths).toEqual({ 'heat-1': 0 });
  });
});
