import { AppError } from '../../src/base/errors.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';

/* A folder is stored part by part. What ends an intake between two of them says which are in. */

const SITE = 'the documents of the site';

let services: Services;
beforeEach(async () => {
  services = await openServices(`${temporaryFolder('stored-before')}/data`);
});
afterEach(() => services.store.close());

const take = (folder: string) => services.intake.run(folder, 'local:tester');
const failureOf = (folder: string) =>
  take(folder).then(
    () => undefined,
    (error: unknown) => error as AppError,
  );

/** Lets the disk be full when the files of the given part are to be kept, counted from 1. */
function fullDiskAt(part: number): () => void {
  const { evidence } = services.store;
  const keepAll = evidence.keepAll.bind(evidence);
  let parts = 0;
  evidence.keepAll = async (files) => {
    parts += 1;
    if (parts === part) throw Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' });
    return keepAll(files);
  };
  return () => {
    evidence.keepAll = keepAll;
  };
}

it('a disk that is full at a lot: the error says that the site is stored, and the next intake stores the rest', async () => {
  const folder = writeCell(makeCell());
  const empty = fullDiskAt(2);
  const error = await failureOf(folder);
  expect(error).toBeInstanceOf(AppError);
  expect(error).toMatchObject({ code: 'STORAGE', facts: { stored: [SITE] } });
  expect(error!.message).toMatch(
    /^the disk is full: .*\. Before that was stored: the documents of the site\. Nothing else of the folder was: take it in again/,
  );
  expect(await services.store.read.entries.current('recipe', 'RC')).toBeDefined();
  expect(await services.store.read.entries.current('lot', 'L-1')).toBeUndefined();
  empty();
  const report = await take(folder);
  expect(report.documents.map(({ kind }) => kind)).toEqual(['lot']);
});

it('a disk that is full at the site: nothing is stored, and none is claimed to be', async () => {
  const empty = fullDiskAt(1);
  const error = await failureOf(writeCell(makeCell()));
  empty();
  expect(error).toMatchObject({ code: 'STORAGE' });
  expect(error!.message).not.toContain('Before that');
  expect(await services.store.read.entries.current('recipe', 'RC')).toBeUndefined();
});

it('a disk that is full in the midst of what is stored by one change: nothing of it is', async () => {
  const folder = writeCell(makeCell());
  const whole = () => services.intake.run(folder, 'local:tester', { inOneChange: true });
  const empty = fullDiskAt(1);
  await expect(whole()).rejects.toMatchObject({ code: 'STORAGE' });
  empty();
  expect(await services.store.read.entries.current('recipe', 'RC')).toBeUndefined();
  const refuse = fullDiskAt(2);
  expect((await whole()).documents.map(({ kind }) => kind)).toEqual(expect.arrayContaining(['recipe', 'lot']));
  refuse();
});

it('what others write meanwhile is looked at again for all of one change', async () => {
  const cell = makeCell();
  const folder = writeCell(cell);
  const { store } = services;
  const change = store.change.bind(store);
  store.change = async (actor, work) => {
    store.change = change;
    const { title } = cell.documents['site/supplier.yaml']!;
    const other = { ...cell.documents['site/supplier.yaml'], title: `${title}, otherwise` };
    await services.intake.take([{ file: 'supplier.yaml', document: other }], 'person:P-OP');
    return change(actor, work);
  };
  await expect(services.intake.run(folder, 'local:tester', { inOneChange: true })).rejects.toMatchObject({
    problems: [expect.objectContaining({ code: 'change-without-reason', file: 'site/supplier.yaml' })],
  });
  expect(await store.read.entries.current('lot', 'L-1')).toBeUndefined();
});

it('a store that others keep busy: the error says it too', async () => {
  const { store } = services;
  const change = store.change.bind(store);
  let parts = 0;
  store.change = (actor, work) => {
    parts += actor === 'local:tester' ? 1 : 0;
    return parts === 2 ? Promise.reject(new AppError('BUSY', 'others write all the time')) : change(actor, work);
  };
  try {
    expect(await failureOf(writeCell(makeCell()))).toMatchObject({
      code: 'BUSY',
      message: expect.stringMatching(
        /^others write all the time\. Before that was stored: the documents of the site\./,
      ),
      facts: { stored: [SITE] },
    });
  } finally {
    store.change = change;
  }
});
