// Not quick: it starts a database server, and puts it back to a moment.
import path from 'node:path';
import type { Store } from '../../src/store/store.js';
import { temporaryFolder } from '../support/cell.js';
import { asked, TestServer } from '../support/postgresql.js';
import { programHold } from '../support/program-hold.js';
import { ACTOR, openOn } from './open-store.js';

const hold = (store: Store) => store.change(ACTOR, ({ events }) => events.add(programHold('L-1')));

let server: TestServer;
beforeAll(async () => {
  server = await TestServer.start();
  server.archive();
});
afterAll(() => server.remove());

it('is put back to a moment between two base backups, whole, and is refused until two people accept that it lies behind', async () => {
  const database = await server.database();
  const folder = path.join(temporaryFolder('moment'), 'data');
  const store = await openOn(database, folder);
  await hold(store);
  server.baseBackup();
  await hold(store);
  const then = await store.read.ledger.size();
  await asked(database.superuser, `SELECT pg_create_restore_point('before')`);
  await hold(store);
  await store.close();
  await asked(database.superuser, 'SELECT pg_switch_wal()');

  server.backTo('before');
  await expect(openOn(database, folder)).rejects.toMatchObject({
    ...{ code: 'ALTERED', message: expect.stringMatching(/anchor/) },
  });
  // What was behind the base backup is there, and what came after the moment is not.
  const [found] = await asked(database.superuser, 'SELECT count(*)::int AS "size" FROM "LedgerEntry"');
  expect(found).toEqual({ size: then });
});
