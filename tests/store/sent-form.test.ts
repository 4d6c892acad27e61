import { DataFolder } from '../../src/store/data-folder.js';
import { SentForm, sendForm } from '../../src/store/sent-form.js';
import { Store } from '../../src/store/store.js';
import { programHold } from '../support/program-hold.js';
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

const NUMBER = 'abcdefghijklmnopqrstuv';
const hold = (at: Store, form: SentForm, unit = 'I-1') =>
  sendForm(form, () => at.change(ACTOR, (change) => change.events.add(programHold('L-1', [unit]), 'because')));
const holds = async () => (await store.read.events.of({ kind: 'lot', key: 'L-1' })).length;

// ASVS 11.1.1.
describe('the number of a form', () => {
  it('is used up by the change that records the act, and no second change records one', async () => {
    const form = new SentForm('session', NUMBER);
    expect(await store.read.identity.resultOfForm(form)).toBeUndefined();
    await hold(store, form);
    expect(form.isUsed).toBe(true);
    expect(await store.read.identity.resultOfForm(form)).toBeNull();
    const size = await store.read.ledger.size();
    await expect(hold(store, new SentForm('session', NUMBER), 'I-2')).rejects.toThrow('nothing was done twice');
    expect([await holds(), await store.read.ledger.size()]).toEqual([1, size]);
  });

  it('is used up for another process on the same folder as well', async () => {
    const other = await Store.open(DataFolder.open(folder));
    try {
      await hold(other, new SentForm('session', NUMBER));
      await expect(hold(store, new SentForm('session', NUMBER))).rejects.toThrow('nothing was done twice');
      expect(await holds()).toBe(1);
    } finally {
      await other.close();
    }
  });

  it('is not used up by a change that failed, nor by one that only derives', async () => {
    const form = new SentForm('session', NUMBER);
    const broken = sendForm(form, () =>
      store.change(ACTOR, async (change) => {
        await change.events.add(programHold('L-1', ['I-1']));
        throw new Error('no space left');
      }),
    );
    await expect(broken).rejects.toThrow('no space left');
    await sendForm(form, () =>
      store.change(ACTOR, (change) => change.lotFiles.add('L-1', 'a'.repeat(64), '{}', new Map())),
    );
    expect([form.isUsed, await store.read.identity.resultOfForm(form)]).toEqual([false, undefined]);
    await hold(store, form);
    expect(await holds()).toBe(1);
  });

  it('belongs to its session, and one form may record several things', async () => {
    const form = new SentForm('session', NUMBER);
    await hold(store, form);
    await hold(store, form, 'I-2');
    await hold(store, new SentForm('another', NUMBER), 'I-3');
    expect(await holds()).toBe(3);
  });

  it('leads to where its result stands, and is forgotten once its session can be no more', async () => {
    const form = new SentForm('session', NUMBER);
    await hold(store, form);
    await store.change('program', ({ identity }) =>
      identity.rememberResult(form, '2031-03-04T09:00:00.000Z', '/lots/L-1'),
    );
    expect(await store.read.identity.resultOfForm(form)).toBe('/lots/L-1');
    await store.change('program', ({ identity }) => identity.dropForms('2999-01-01T00:00:00.000Z'));
    expect(await store.read.identity.resultOfForm(form)).toBeUndefined();
  });
});
