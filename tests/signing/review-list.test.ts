import { reviewItemText } from '../../src/report/phrases/review-items.js';
import { ReviewList } from '../../src/signing/review-list.js';
import type { Store } from '../../src/store/store.js';
import { type Editable, edited, factsOf } from '../support/lot-facts.js';

it('names corrections and late entries with their piece', async () => {
  const facts = edited(await factsOf(), ({ results }: Editable) => {
    const [late, corrected] = results;
    Object.assign(late, { specimen: 'L-1-W1', characteristic: 'rm', piece: 'B', replicate: '2' });
    Object.assign(late, { measuredAt: '2031-03-04T09:00:00+01:00', recordedAt: '2031-03-09T09:00:00+01:00' });
    Object.assign(corrected, { specimen: 'L-1-W2', characteristic: 'rm', piece: 'C', replicate: '1', reason: 'slip' });
  });
  const nobody = {
    read: { events: { of: async () => [] }, entries: { revisions: async () => [] } },
  } as unknown as Store;
  const says = (await new ReviewList(nobody).of(facts)).map((item) => `${item.kind}: ${reviewItemText(item)}`);
  expect(says).toContainEqual(expect.stringMatching(/^late entry: L-1-W1\/B rm 2, measured at/));
  expect(says).toContainEqual(expect.stringMatching(/^correction: L-1-W2\/C rm 1 is now/));
});
