import path from 'node:path';
import { Controller, Get, Post } from '@nestjs/common';
import { INTERCEPTORS_METADATA } from '@nestjs/common/constants.js';
import { NestFactory, Reflector } from '@nestjs/core';
import type { NestExpressApplication } from '@nestjs/platform-express';
import request from 'supertest';
import { z } from 'zod';
import { AppModule } from '../../src/app.module.js';
import type { JsonSchema } from '../../src/base/json-schema.js';
import { createApplication } from '../../src/main.js';
import { askedForText } from '../../src/report/phrases/asked-for.js';
import { Access, NoCases, OpenToAuditors } from '../../src/web/access.js';
import { ErrorFilter } from '../../src/web/error-filter.js';
import { AnswerForm } from '../../src/web/form-answer.js';
import { keepApart } from '../../src/web/identity.js';
import { quietLog } from '../../src/web/log.js';
import { Operation } from '../../src/web/operation.js';
import { Pages } from '../../src/web/pages.js';
import { type Route, type RouteInput, Routes } from '../../src/web/routes.js';
import { temporaryFolder } from '../support/cell.js';
import { makeTestPeople } from '../support/people.js';
import { type SignedIn, signIn } from '../support/service.js';
import { openServices, type Services } from '../support/services.js';
import { changingRoutes, endsSession, send, spoiltRequest, wrongWith } from '../support/spoilt-requests.js';
import { notForPeople } from '../support/words-for-people.js';

let services: Services;
let app: NestExpressApplication;
let routes: Route[];
let quality: SignedIn;
let auditor: SignedIn;
beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('access'), 'data'));
  await makeTestPeople(services);
  app = await createApplication(services.store);
  routes = app.get(Routes).all();
  quality = await signIn(app, 'P-QE');
  auditor = await signIn(app, 'P-AU');
});
afterAll(async () => {
  await app.close();
  await services.store.close();
});

const reflector = new Reflector();
const asker = ({ handler }: Route) => reflector.get(Access, handler);
const isChange = ({ method }: Route) => method !== 'GET' && method !== 'ALL';
const says = ({ method, path: at }: Route) => `${method} ${at}`;
/** An address of the route: nothing has such names, and none is needed to be let in or refused. */
const addressOf = ({ path: at }: Route) => at.replace('{*path}', 'nowhere').replaceAll(/:\w+/g, 'x');

it('finds the routes that the service has', () => {
  const found = routes.map(says);
  expect(found).toEqual(
    expect.arrayContaining(['GET /', 'GET /lots/:lot', 'POST /lots/:lot/assess', 'POST /api/v1/sign', 'ALL /{*path}']),
  );
  expect(found).toEqual(expect.arrayContaining(['GET /evidence/:sha256', 'GET /api/v1/evidence/:sha256']));
  expect(new Set(found).size).toBe(found.length);
});

describe('every route (ASVS 4.1.5)', () => {
  it('says who may ask it', () => {
    expect(routes.filter((route) => asker(route) === undefined).map(says)).toEqual([]);
  });

  it('is open to everyone only to sign in, to set a password, and to see whether the service runs', () => {
    const open = routes.filter((route) => asker(route) === 'everyone').map(says);
    expect(open.sort()).toEqual([
      'GET /health',
      'GET /metrics',
      'GET /ready',
      'GET /set-up/:token',
      'GET /set-up/done',
      'GET /sign-in',
      'GET /sign-in/elsewhere',
      'GET /sign-in/elsewhere/back',
      'POST /api/v1/session',
      'POST /set-up/:token',
      'POST /sign-in',
      'POST /sign-in/passkey',
    ]);
  });

  it('answers no stranger but where it says so', async () => {
    for (const route of routes.filter((one) => asker(one) !== 'everyone')) {
      const method = route.method === 'ALL' ? 'GET' : route.method;
      const { status, headers } = await request(app.getHttpServer())[method.toLowerCase() as 'get'](addressOf(route));
      const isPage = method === 'GET' && !route.path.startsWith('/api/v1');
      expect([says(route), status]).toEqual([says(route), isPage ? 303 : 401]);
      if (isPage) expect(headers.location).toMatch(/^\/sign-in/);
    }
  });

  it('that answers is noted as read, but where its handler says that it names no case (ASVS 8.3.5)', async () => {
    const noted = () => [...services.store.reads.newest()];
    const free = routes.filter(({ handler }) => reflector.get(NoCases, handler));
    expect(free.map(says).sort()).toEqual([
      'ALL /{*path}',
      'GET /account',
      'GET /account/tokens',
      'GET /account/tokens/:name',
      'GET /api',
      'GET /api/v1/calc',
      'GET /api/v1/openapi.json',
      'GET /api/v1/session',
      'GET /authority',
      'GET /calculations',
      'GET /calculations/:name',
      'GET /cautions',
      'GET /jobs',
      'GET /jobs/:job',
      'GET /parts',
      'GET /parts/around.svg',
      'GET /people',
      'GET /people/:person',
      'GET /people/:person/:act',
      'GET /people/:person/one-time-link',
      'GET /people/new/account',
      'POST /api/v1/calc/:name',
      'POST /calculations/:name',
    ]);
    for (const route of routes.filter((one) => one.method === 'GET' && asker(one) !== 'everyone')) {
      const before = noted().length;
      await request(app.getHttpServer()).get(addressOf(route)).set('Cookie', quality.cookie);
      const lines = noted().slice(0, noted().length - before);
      const line = { person: 'P-QE', page: addressOf(route) };
      expect([says(route), lines]).toEqual([says(route), free.includes(route) ? [] : [expect.objectContaining(line)]]);
    }
  });

  it('that changes something needs the token of the session', async () => {
    const size = await services.store.read.ledger.size();
    for (const route of routes.filter((one) => isChange(one) && asker(one) !== 'everyone')) {
      const asked = request(app.getHttpServer())[route.method.toLowerCase() as 'post'](addressOf(route));
      const { status, text } = await asked.set('Cookie', quality.cookie).type('form').send({ csrf: 'x' });
      expect([says(route), status]).toEqual([says(route), 403]);
      expect(text).toContain('does not carry the token of your session');
    }
    expect(await services.store.read.ledger.size()).toBe(size);
  });

  it('that changes something is refused to an auditor, and the refusal recorded, unless it stores nothing', async () => {
    const refusals = async () => (await services.store.read.events.ofTypes(['act-refused'])).length;
    const changes = routes.filter((route) => isChange(route) && asker(route) !== 'everyone');
    const storing = changes.filter(({ handler }) => !reflector.get(OpenToAuditors, handler));
    expect(
      changes
        .filter((route) => !storing.includes(route))
        .map(says)
        .sort(),
    ).toEqual([
      'DELETE /api/v1/session',
      'POST /account/password',
      'POST /api/v1/calc/:name',
      'POST /calculations/:name',
      'POST /sign-out',
    ]);
    const before = await refusals();
    for (const route of storing) {
      const asked = request(app.getHttpServer())[route.method.toLowerCase() as 'post'](addressOf(route));
      const { status, text } = await asked.set('Cookie', auditor.cookie).set('X-CSRF-Token', auditor.csrf);
      expect([says(route), status]).toEqual([says(route), 403]);
      expect(text).toMatch(/an auditor reads everything and changes nothing/i);
    }
    expect(await refusals()).toBe(before + storing.length);
  });
});

@Controller('undecided')
class UndecidedController {
  static asked = 0;

  @Get()
  read(): string {
    UndecidedController.asked += 1;
    return 'a secret';
  }

  @Post()
  change(): string {
    return this.read();
  }
}

describe('every input (ASVS 5.1.3)', () => {
  it('has a schema: parts of the address, query and body', () => {
    const inputs = routes.flatMap((route) => route.inputs.map((input) => ({ says: says(route), ...input })));
    expect(inputs.length).toBeGreaterThan(50);
    expect(inputs.filter(({ schema }) => schema === undefined)).toEqual([]);
  });

  it('refuses fields that it does not know, but for what others add, and what a calculation and the form of a kind check themselves', () => {
    const refuses = ({ schema }: RouteInput): boolean =>
      schema!.safeParse({ unknown: 'x' }).error?.issues.some(({ code }) => code === 'unrecognized_keys') ?? false;
    const open = routes.filter(({ inputs }) => inputs.some((input) => input.from !== 'params' && !refuses(input)));
    expect(open.map(says).sort()).toEqual([
      'GET /sign-in/elsewhere/back',
      'POST /api/v1/calc/:name',
      'POST /calculations/:name',
      'POST /enter/:kind/:draft',
      'POST /prepare/:draft/:step',
      'POST /sheets/:lot/:draft',
    ]);
  });

  it.each([
    ['empty', {}],
    ['absurd', undefined],
  ])('says in words for people what is wrong with it: %s', (_, given) => {
    for (const { schema, from } of routes.flatMap((route) => route.inputs)) {
      if (from === 'params') continue;
      const { properties = {} } = z.toJSONSchema(schema as z.ZodType, {
        io: 'input',
        unrepresentable: 'any',
      }) as JsonSchema;
      const names = Object.keys(properties);
      const bodies = given === undefined ? ['', 'absurd', 7, true, [], [{}], { x: 1 }].map((value) => ({ value })) : [];
      for (const body of [
        ...(given === undefined ? [] : [given]),
        ...bodies.map(({ value }) => Object.fromEntries(names.map((name) => [name, value]))),
      ]) {
        const parsed = schema!.safeParse(body);
        for (const issue of parsed.error?.issues ?? []) expect(notForPeople(askedForText(issue))).toEqual([]);
      }
    }
  });

  it('of the address is taken by the handler: no part of a path goes unread', () => {
    const unread = routes.filter(({ path: at, inputs }) => {
      const taken = inputs.filter(({ from }) => from === 'params');
      const whole = taken.some(({ name }) => name === undefined);
      return !whole && [...at.matchAll(/:(\w+)/g)].some(([, part]) => !taken.some(({ name }) => name === part));
    });
    expect(unread.map(says)).toEqual([]);
  });

  it('is checked before the handler runs, and every field that is wrong is told with what to do', async () => {
    const ask = (at: string) => request(app.getHttpServer()).get(at).set('Cookie', quality.cookie);
    const { status, text: said } = await ask('/api/v1/trend?characteristic=&colour=red');
    expect(status).toBe(400);
    expect(JSON.parse(said).problems).toEqual(
      expect.arrayContaining([
        {
          code: 'too_small',
          field: 'characteristic',
          expected: 'a characteristic',
          remedy: 'the page /api describes every request',
        },
      ]),
    );
    const { text } = await ask('/audit?from=yesterday');
    expect(text).toContain('mend the field and search again');
    const long = await ask(`/lots/${'x'.repeat(401)}`);
    expect([long.status, long.text]).toEqual([400, expect.stringContaining('a name of at most 400 characters')]);
  });
});

it('every route that takes a body answers a spoilt one in words', async () => {
  await app.listen(0, '127.0.0.1');
  const analyst = await signIn(app, 'P-AN');
  for (const [place, route] of changingRoutes(app).entries()) {
    const answer = await send(
      app,
      spoiltRequest(route, 1_000_003 + place * 1000),
      endsSession(route) ? analyst : quality,
    );
    expect([says(route), wrongWith(answer)]).toEqual([says(route), undefined]);
  }
  expect(await services.store.verifyLedger()).toMatchObject({ ok: true });
});

describe('every route of the API', () => {
  it('says of itself what it is for and what it answers', () => {
    const ofApi = routes.filter((route) => route.path.startsWith('/api/v1/'));
    expect(ofApi.length).toBeGreaterThan(10);
    expect(ofApi.filter(({ handler }) => reflector.get(Operation, handler) === undefined).map(says)).toEqual([]);
    // Nothing and a file have no schema; all else has one.
    for (const { handler, status } of ofApi) {
      const { answer } = reflector.get(Operation, handler);
      expect([answer === 'nothing', status === 204]).toEqual(status === 204 ? [true, true] : [false, false]);
    }
  });
});

describe('a page that sends something (ASVS 11.1.1)', () => {
  it('is led on by 303, always: only a calculation, which stores nothing, answers with a page', () => {
    const posts = routes.filter((route) => route.method === 'POST' && !route.path.startsWith('/api/'));
    const others = posts.filter(({ handler }) => {
      const interceptors = (Reflect.getMetadata(INTERCEPTORS_METADATA, handler) ?? []) as unknown[];
      return !interceptors.includes(AnswerForm);
    });
    expect(posts.length).toBeGreaterThan(10);
    expect(others.map(says)).toEqual([]);
  });
});

describe('a route that does not say who may ask it (ASVS 4.1.5)', () => {
  let other: NestExpressApplication;
  beforeAll(async () => {
    class OtherModule {}
    other = await NestFactory.create<NestExpressApplication>(
      { module: OtherModule, imports: [AppModule.over(services.store)], controllers: [UndecidedController] },
      { bodyParser: false, logger: false, abortOnError: false },
    );
    other.use(keepApart);
    other.useGlobalFilters(new ErrorFilter(other.get(Pages), quietLog()));
    await other.init();
  });
  afterAll(() => other.close());

  it.each(['get', 'post'] as const)('is refused to everybody who asks by %s', async (method) => {
    const ask = () => request(other.getHttpServer())[method]('/undecided');
    for (const asked of [ask(), ask().set('Cookie', quality.cookie).set('X-CSRF-Token', quality.csrf)]) {
      const { status, text } = await asked;
      expect(status).toBe(403);
      expect(text).toMatch(/this address does not say who may ask it, so nobody may/i);
    }
    expect(UndecidedController.asked).toBe(0);
  });
});

it('is asked of the session, whoever else is answered at the same time', async () => {
  const names = await Promise.all(
    Array.from({ length: 20 }, async (_, index) => {
      const { cookie } = index % 2 === 0 ? quality : auditor;
      // The page of an error is made outside of the handler.
      const { text } = await request(app.getHttpServer()).get('/lots/none').set('Cookie', cookie);
      return text.includes('Quentin Example') && !text.includes('Aurel Example');
    }),
  );
  expect(names).toEqual(names.map((_, index) => index % 2 === 0));
});
