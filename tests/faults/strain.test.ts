import net, { type AddressInfo } from 'node:net';
import { AppError } from '../../src/base/errors.js';
import { AccountActs } from '../../src/people/account-acts.js';
import { AccountLinks } from '../../src/people/account-links.js';
import { Accounts } from '../../src/people/accounts.js';
import { IDLE_LIMIT_MS, Sessions } from '../../src/people/sessions.js';
import { openStore, temporaryFolder } from '../store/open-store.js';
import { writeCell } from '../support/cell.js';
import { uniformNumbers } from '../support/numbers.js';
import { CHEAPEST, PASSWORD } from '../support/people.js';
import { startTestService } from '../support/service.js';
import { openServices } from '../support/services.js';
import { SigningCell } from '../support/signing-cell.js';
import { MINUTE_MS, TestClock } from '../support/test-clock.js';
import { isLong, tellFigures } from './command.js';

/** Many people and bad clocks at once. The daily run tries each of these once, beside what it is about. */

const SEED = 20311130;
const ROUNDS = 30;
const AT_ONCE = 6;

it.runIf(isLong)(
  'signing at once, in two programs: one wins each time, the others are told, and nothing is there twice',
  async () => {
    const cell = await SigningCell.open();
    const other = await openServices(cell.folder.path);
    const file = 'site/method-size.yaml';
    const refusals = new Set<string>();
    for (let round = 1; round <= ROUNDS; round += 1) {
      const revision = round + 1;
      const documents = { [file]: { ...cell.cell.documents[file], revision } };
      await cell.services.intake.run(writeCell({ documents, sheets: {}, files: {} }), 'local:tester');
      const things = [{ kind: 'method', key: 'TM-S', revision, digest: null }];
      const tries = await Promise.allSettled(
        Array.from({ length: AT_ONCE }, async (_, index) => {
          const { accounts, signing } = index % 2 === 0 ? cell.services : other;
          return signing.sign(await accounts.prove('P-PE', PASSWORD), { things, meaning: 'performed' });
        }),
      );
      expect([round, tries.filter(({ status }) => status === 'fulfilled').length]).toEqual([round, 1]);
      for (const one of tries) {
        if (one.status === 'fulfilled') continue;
        expect(one.reason).toBeInstanceOf(AppError);
        refusals.add((one.reason as AppError).message);
      }
    }
    const signed = await cell.services.store.read.signatures.of({ kind: 'method', key: 'TM-S' });
    expect(signed.filter(({ signed: { statement } }) => statement.meaning === 'performed')).toHaveLength(ROUNDS + 1);
    expect(await cell.services.store.verifyLedger()).toMatchObject({ ok: true });
    await other.store.close();
    await cell.close();
    tellFigures(
      `signing at once: ${ROUNDS} rounds of ${AT_ONCE}, one signature each, ${refusals.size} sorts of refusal`,
    );
  },
);

it.runIf(isLong)('a clock that is set: no act before the last entry, and no session beyond its limits', async () => {
  const random = uniformNumbers(SEED);
  const cell = await SigningCell.open();
  // Whoever reviews a lot has it assessed first.
  await cell.services.assessor.assess('L-1', 'local:tester');
  const size = await cell.services.store.read.ledger.size();
  const [now, day] = [cell.folder.clock.now().getTime(), 86_400_000];
  const backs = 60;
  for (let back = 0; back < backs; back += 1) {
    const clock = vi.spyOn(cell.folder.clock, 'now').mockReturnValue(new Date(now - 1 - random() * 30 * day));
    await expect(cell.review('L-1')).rejects.toMatchObject({
      message: expect.stringMatching(/stands before an entry/),
    });
    clock.mockRestore();
  }
  expect(await cell.services.store.read.ledger.size()).toBe(size);
  vi.spyOn(cell.folder.clock, 'now').mockReturnValue(new Date(now + day));
  await cell.review('L-1');
  vi.restoreAllMocks();
  await expect(cell.release('L-1', ['L-1-I1'])).rejects.toThrow(/stands before an entry/);
  expect(await cell.services.store.verifyLedger()).toMatchObject({ ok: true });
  await cell.close();

  const { folder, remove } = temporaryFolder();
  const store = await openStore(folder);
  const clock = new TestClock();
  const { accounts, links } = await firstAccount(store, clock);
  void links;
  const sessions = new Sessions(store, accounts, clock);
  const jumps = 200;
  let ended = 0;
  for (let jump = 0; jump < jumps; jump += 1) {
    const { token } = await sessions.begin(await accounts.prove('ADM', PASSWORD));
    const ms = Math.round((random() - 0.5) * 4 * IDLE_LIMIT_MS);
    clock.forwardMs(ms);
    const isOpen = (await sessions.find(token)) !== undefined;
    expect([ms, isOpen]).toEqual([ms, ms >= -MINUTE_MS && ms < IDLE_LIMIT_MS]);
    if (!isOpen) ended += 1;
    clock.forwardMs(Math.max(0, -ms));
  }
  await store.close();
  remove();
  tellFigures(
    `clock: ${backs} signatures with a clock set back refused, ${jumps} sessions over jumps, ${ended} ended, none beyond its limits`,
  );
});

async function firstAccount(store: Awaited<ReturnType<typeof openStore>>, clock: TestClock) {
  const accounts = new Accounts(store, clock);
  const links = new AccountLinks(store, accounts, clock, CHEAPEST);
  const { token } = (await links.makeFirstLink())!;
  await links.makeFirst(token, { person: 'ADM', name: 'Mira Solberg', password: PASSWORD });
  return { accounts, links, firstLink: token };
}

it.runIf(isLong)(
  'links and cookies that are sent again, or changed by one character: none opens anything',
  async () => {
    const random = uniformNumbers(SEED);
    const { folder, remove } = temporaryFolder();
    const store = await openStore(folder);
    const clock = new TestClock();
    const { accounts, links } = await firstAccount(store, clock);
    const sessions = new Sessions(store, accounts, clock);
    const acts = new AccountActs(store, accounts, clock);
    const changed = (token: string) => {
      const at = Math.floor(random() * token.length);
      const letter = token[at] === 'A' ? 'B' : 'A';
      // The last character of base64url has bits that say nothing.
      return at === token.length - 1 ? `${token}${letter}` : token.slice(0, at) + letter + token.slice(at + 1);
    };
    const account = { person: 'TO', name: 'Tomas Okoro', identityCheckedOn: accounts.today() };
    const { token: link } = await acts.make(await accounts.prove('ADM', PASSWORD), account);
    const tries = 300;
    for (let one = 0; one < tries; one += 1) {
      await expect(links.openLink(changed(link))).rejects.toBeInstanceOf(AppError);
    }
    await links.setPassword(link, PASSWORD);
    for (let one = 0; one < tries; one += 1) {
      await expect(links.setPassword(link, `${PASSWORD} ${one}`)).rejects.toThrow(/used before/);
    }
    const { token } = await sessions.begin(await accounts.prove('TO', PASSWORD));
    for (let one = 0; one < tries; one += 1) expect(await sessions.find(changed(token))).toBeUndefined();
    expect(await sessions.find(token)).toBeDefined();
    await sessions.end(token);
    for (let one = 0; one < tries; one += 1) expect(await sessions.find(token)).toBeUndefined();
    await store.close();
    remove();
    tellFigures(
      `replays: ${tries} used links, ${tries} changed links, ${tries} ended cookies, ${tries} changed cookies, none taken`,
    );
  },
);

it.runIf(isLong)('clients that are many and slow: all others are served', async () => {
  const service = await startTestService();
  await service.app.listen(0, '127.0.0.1');
  const { port } = service.app.getHttpServer().address() as AddressInfo;
  const head =
    'POST /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 900\r\n\r\n';
  const clients = 400;
  let hungUp = 0;
  const sockets = Array.from({ length: clients }, () => {
    const socket = net.connect(port, '127.0.0.1', () => socket.write(head));
    const drip = setInterval(() => socket.write('p'), 500);
    socket
      .on('error', () => undefined)
      .on('close', () => {
        clearInterval(drip);
        hungUp += 1;
      });
    return socket;
  });
  let slowest = 0;
  const pages = 60;
  for (let page = 0; page < pages; page += 1) {
    const begun = performance.now();
    expect((await service.ask.get(page % 2 === 0 ? '/lots/L-1' : '/')).status).toBe(200);
    slowest = Math.max(slowest, performance.now() - begun);
  }
  const before = hungUp;
  for (const socket of sockets) socket.destroy();
  await service.close();
  tellFigures(
    `slow clients: ${clients} at once, ${pages} pages answered meanwhile, the slowest in ${Math.round(slowest)} ms, ${before} hung up on by then`,
  );
});
