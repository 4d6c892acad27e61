import { createApplication } from '../../src/main.js';
import { LIMITS } from '../../src/web/request-limits.js';
import { signIn, startTestService } from '../support/service.js';
import { changingRoutes, endsSession, send, spoiltRequest, wrongWith } from '../support/spoilt-requests.js';
import { isLong, tellFigures } from './command.js';

/**
 * Forms and JSON bodies of every route that takes one, spoilt by a few changes: none may end in anything but an answer in
 * words. A short slice of it runs each day in `tests/web/access.test.ts`; LOTWRIGHT_SPOIL_SEED begins elsewhere.
 */

const SEED = Number(process.env.LOTWRIGHT_SPOIL_SEED ?? 1);
const OF_EACH = 120;

it.runIf(isLong)('whatever form or body is sent, each route answers in words, and the audit trail holds', async () => {
  const service = await startTestService();
  const { store } = service.services;
  const limits = { ...LIMITS, requestsPerMinute: 1e9, changesPerMinute: 1e9, signInsPerMinute: 1e9 };
  const app = await createApplication(store, { limits });
  await app.listen(0, '127.0.0.1');
  const people = await Promise.all(['P-QE', 'P-AD', 'P-RE', 'P-OP'].map((person) => signIn(app, person)));
  const analyst = await signIn(app, 'P-AN');
  const routes = changingRoutes(app);
  const counts = { done: 0, refused: 0 };
  const wrong: string[] = [];
  for (const [place, route] of routes.entries()) {
    for (let index = 0; index < OF_EACH; index += 1) {
      const seed = SEED * 1_000_003 + place * 1000 + index;
      const own = endsSession(route) ? analyst : people[index % people.length]!;
      const answer = await send(app, spoiltRequest(route, seed), own);
      const why = wrongWith(answer);
      if (why !== undefined) wrong.push(`${route.method} ${route.path}, seed ${seed}: ${why}`);
      if (answer.status < 400) counts.done += 1;
      else counts.refused += 1;
    }
  }
  expect(wrong).toEqual([]);
  expect(counts.done).toBeGreaterThan(routes.length);
  expect(await store.verifyLedger()).toMatchObject({ ok: true });
  tellFigures(
    `forms and bodies: ${routes.length * OF_EACH} to ${routes.length} routes from seed ${SEED}, ${counts.refused} refused in words, ${counts.done} done or led on`,
  );
  await app.close();
  await service.close();
});
