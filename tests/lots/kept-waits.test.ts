import { KeptLots } from '../../src/lots/kept-lots.js';
import { LINE_VIEW } from '../../src/lots/line-view.js';
import type { KeptView } from '../../src/store/kept-views.js';
import type { Store } from '../../src/store/store.js';

/** What was sent to the worker, and what comes of it. */
const worker = {
  sent: [] as (readonly string[])[],
  work: (_: readonly string[]): Promise<void> | void => {},
  isThere: () => true,
  make: async ({ lots }: { lots: readonly string[] }) => {
    worker.sent.push(lots);
    await worker.work(lots);
  },
};

/** A service with so many lots, of each of which the line is behind, as after an upgrade. */
function service(lots: number) {
  const behind = new Set(Array.from({ length: lots }, (_, at) => `L-${at}`));
  const rows = async () => [...behind].map((lot) => ({ lot, value: undefined })) as unknown as KeptView[];
  const of = async (_view: string, _by: string, asked: readonly string[]) =>
    asked.map((lot) => ({ lot, value: lot, isBehind: behind.has(lot) })) as unknown as KeptView[];
  const keptViews = { isWhole: async () => true, behind: async () => [...behind], asking: rows, of };
  const store = { isService: true, folder: { path: '/nowhere' }, read: { keptViews } } as unknown as Store;
  worker.sent = [];
  return { kept: new KeptLots(store, LINE_VIEW, worker), behind };
}

const forget = (behind: Set<string>, lots: readonly string[]): void => {
  for (const lot of lots) behind.delete(lot);
};
const never = () => new Promise<void>(() => {});

describe('a service whose lots are behind', () => {
  it('shows a page without waiting until they are made, and says how many are not', async () => {
    worker.work = never;
    const { kept } = service(120);
    const begun = performance.now();
    expect(await kept.asking()).toEqual({ values: [], behind: 120 });
    expect(performance.now() - begun).toBeLessThan(1000);
    // Whoever comes meanwhile begins nothing again.
    await kept.asking();
    expect(worker.sent).toHaveLength(1);
  });

  it('makes them before anybody asks, some at a time, and stops when it ends', async () => {
    const { kept, behind } = service(120);
    worker.work = (lots) => forget(behind, lots);
    await kept.catchUp(() => false);
    expect(worker.sent.map((lots) => lots.length)).toEqual([50, 50, 20]);
    const ended = service(120);
    worker.work = (lots) => forget(ended.behind, lots);
    await ended.kept.catchUp(() => worker.sent.length > 0);
    expect(ended.behind.size).toBe(70);
  });

  it('makes lots that somebody asks for in the worker too where it makes others just then', async () => {
    const { kept, behind } = service(120);
    worker.work = async (lots) => {
      await new Promise((done) => setTimeout(done, 20));
      forget(behind, lots);
    };
    const others = kept.catchUp(() => false);
    await vi.waitUntil(() => worker.sent.length === 1, { interval: 0 });
    const wanted = ['L-115', 'L-116', 'L-117', 'L-118', 'L-119'];
    // Nothing of the folder is there: whatever were made in this thread would throw.
    expect(await kept.ofLots(wanted)).toEqual(wanted);
    await others;
    expect(behind.size).toBe(0);
  });

  it('makes for a page of some lots these alone', async () => {
    const { kept, behind } = service(120);
    worker.work = (lots) => forget(behind, lots);
    const wanted = ['L-3', 'L-50', 'L-70', 'L-119'];
    expect(await kept.toldOf(wanted)).toEqual({ values: wanted, behind: 0 });
    expect(worker.sent).toEqual([wanted]);
    expect(behind.size).toBe(116);
  });

  it('leaves them to whoever asks where what is made cannot be kept', async () => {
    worker.work = () => {};
    const { kept } = service(120);
    await kept.catchUp(() => false);
    expect(worker.sent).toHaveLength(1);
  });
});
