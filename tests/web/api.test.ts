import { CalculationsAnswer } from '../../src/calculator/calculation-schemas.js';
import { DesignAnswer } from '../../src/design-file/design-answer.js';
import { LotAnswer, LotsAnswer } from '../../src/lots/lot-answers.js';
import { SessionAnswer } from '../../src/people/session-answer.js';
import { RecordAnswer } from '../../src/records/record-answer.js';
import { assessedInWords } from '../../src/report/assessment-words.js';
import { WaitingAnswer } from '../../src/signing/sign-answers.js';
import { TraceAnswer } from '../../src/trace/trace-answer.js';
import { TrendAnswer } from '../../src/trend/trend-answer.js';
import { HTTP_STATUS, problemOf } from '../../src/web/http-problem.js';
import { endpointsOf } from '../../src/web/open-api.js';
import { ProblemAnswer } from '../../src/web/problem-answer.js';
import { Routes } from '../../src/web/routes.js';
import { sendForm, startTestService, type TestService } from '../support/service.js';

/** Something is recorded that no answer tells of. */
const BACKUP = {
  type: 'backup-made',
  ...{ file: 'b.zip', manifestSha256: '0'.repeat(64), files: 1, bytes: 1, withKeys: false, ledgerSize: 1, damaged: 0 },
} as const;

let service: TestService;
beforeAll(async () => {
  service = await startTestService();
});
afterAll(() => service.close());

describe('answers', () => {
  it.each([
    ['/lots', LotsAnswer],
    ['/lots/L-1', LotAnswer],
    ['/trace/L-1-I1', TraceAnswer],
    ['/trace/0417?direction=forward', TraceAnswer],
    ['/trend?family=PLATE&characteristic=rm', TrendAnswer],
    ['/design?family=PLATE', DesignAnswer],
    ['/calc', CalculationsAnswer],
    ['/session', SessionAnswer],
    ['/waiting', WaitingAnswer],
  ])('%s has the documented shape', async (path, shape) => {
    const { status, body } = await service.ask.get(`/api/v1${path}`);
    expect(status).toBe(200);
    expect(shape.safeParse(body).error?.issues).toBeUndefined();
  });

  it('says the same as the services', async () => {
    const { body } = await service.ask.get('/api/v1/lots/L-1');
    const latest = (await service.services.current.of('L-1'))!;
    // Codes and facts as stored, and the words beside them.
    expect(body.assessment).toEqual(JSON.parse(JSON.stringify(assessedInWords(latest))));
    const [first] = body.assessment.characteristics;
    expect(first.values[0].says).toMatch(/^(keeps|misses) at least 215 MPa/);
    expect(first.plan).toMatchObject({
      ruleSays: 'every unit',
      says: expect.stringContaining('planned values conform'),
    });
    expect(body.assessment.capability[0].notesSay[0]).toMatch(/\.$/);
    expect(body.assessment).toMatchObject(JSON.parse(JSON.stringify(latest.assessment)));
    expect(body.dossierSha256).toBe(latest.dossierSha256);
  });

  it.each([
    '/lots/L-1',
    '/trace/L-1-I1',
    '/trend?family=PLATE&characteristic=rm',
    '/design?family=PLATE',
    '/certificates?material=mg-powder&property=Fe',
    '/families/PLATE/rm/statements',
  ])('%s is told to stand while nothing is recorded, and is answered anew once something is', async (path) => {
    const ask = (tag?: string) =>
      service.ask.get(`/api/v1${path}`).set(tag === undefined ? {} : { 'If-None-Match': tag });
    const { headers, status, text } = await ask();
    expect([status, headers['cache-control']]).toEqual([200, 'private, no-cache']);
    const again = await ask(headers.etag);
    expect([again.status, again.text, again.headers.etag]).toEqual([304, '', headers.etag]);
    // Who was told so has read it.
    expect([...service.services.store.reads.newest()][0]!.page).toBe(`/api/v1${path.split('?')[0]}`);
    expect((await ask(`"${'x'.repeat(43)}"`)).text).toBe(text);
    await service.services.store.change('program', ({ events }) => events.add(BACKUP));
    const anew = await ask(headers.etag);
    expect(anew.status).toBe(200);
    expect(anew.headers.etag).not.toBe(headers.etag);
    // A plan comes into force by the moment, and nothing is recorded then.
    const { clock, folder } = service.services.store;
    folder.advanceTo(new Date(clock.now().getTime() + 60_000).toISOString());
    expect((await ask(anew.headers.etag)).status).toBe(200);
  });

  it('keeps no answer that tells of an error, and tells of it whatever whoever asks holds', async () => {
    const { headers, status } = await service.ask.get('/api/v1/lots/L-none');
    expect([status, headers['cache-control']]).toEqual([404, 'no-store']);
    expect((await service.ask.get('/api/v1/lots/L-none').set('If-None-Match', '*')).status).toBe(404);
  });

  it('traces one way when asked to', async () => {
    const { body } = await service.ask.get('/api/v1/trace/0417?direction=forward');
    expect(body.matches[0].back).toBeNull();
    expect(body.matches[0].forward.length).toBeGreaterThan(0);
  });

  it('assesses, and stores nothing when nothing changed', async () => {
    const { status, body } = await service.ask.post('/api/v1/lots/L-1/assess');
    expect(status).toBe(200);
    const size = await service.services.store.read.ledger.size();
    const again = await service.ask.post('/api/v1/lots/L-1/assess');
    expect(again.body.dossierSha256).toBe(body.dossierSha256);
    expect(await service.services.store.read.ledger.size()).toBe(size);
  });

  it('issues a record and says where it is', async () => {
    const { status, body } = await service.ask.post('/api/v1/lots/L-1/records');
    expect(status).toBe(201);
    expect(RecordAnswer.safeParse(body).error?.issues).toBeUndefined();
    expect((await service.ask.get(body.href)).headers['content-type']).toBe('application/pdf');
  });

  it('computes as the library does (sample standard deviation of 2, 4, 4, 6 by hand: √(8/3))', async () => {
    const { status, body } = await service.ask.post('/api/v1/calc/summary').send({ values: [2, 4, 4, 6] });
    expect(status).toBe(200);
    expect(body.sd).toBeCloseTo(Math.sqrt(8 / 3), 12);
  });
});

describe('problems are documents of RFC 9457', () => {
  const problem = async (
    asked: Promise<{ status: number; headers: Record<string, string>; body: unknown; text: string }>,
  ) => {
    const { status, headers, text } = await asked;
    expect(headers['content-type']).toBe('application/problem+json; charset=utf-8');
    const body = ProblemAnswer.parse(JSON.parse(text));
    expect(body.status).toBe(status);
    return body;
  };
  const get = (path: string) => problem(service.ask.get(path) as never);

  it('names a thing that does not exist', async () => {
    expect(await get('/api/v1/lots/L-404')).toEqual({
      type: '/api#problem-not-found',
      title: 'There is no such thing',
      status: 404,
      detail: 'there is no lot "L-404" in this data folder',
      instance: '/api/v1/lots/L-404',
      code: 'NOT_FOUND',
      what: 'lot',
      key: 'L-404',
    });
  });

  it.each([
    ['/api/v1/nothing', 404, 'NOT_FOUND'],
    ['/api/v1/lots/L-00', 404, 'NOT_FOUND'],
    ['/api/v1/trace/nobody', 404, 'NOT_FOUND'],
    ['/api/v1/trend?family=PLATE', 400, 'BAD_INPUT'],
    ['/api/v1/trend?family=PLATE&family=B&characteristic=rm', 400, 'BAD_INPUT'],
    ['/api/v1/trace/L-1?direction=sideways', 400, 'BAD_INPUT'],
    [`/api/v1/evidence/${'0'.repeat(64)}`, 404, 'NOT_FOUND'],
    ['/api/v1/evidence/..%2f..%2fetc%2fpasswd', 404, 'NOT_FOUND'],
  ])('%s answers %i', async (path, status, code) => {
    expect(await get(path)).toMatchObject({ status, code });
  });

  it('names every field that is wrong at once', async () => {
    const body = await get('/api/v1/trend?characteristic=&colour=red');
    expect((body.problems as { field: string }[]).map((item) => item.field).sort()).toEqual([
      'characteristic',
      'family',
      'request',
    ]);
  });

  it('names the field that a calculation refuses', async () => {
    const sent = service.ask.post('/api/v1/calc/summary').send({ values: [1, 'x'] });
    expect(await problem(sent as never)).toMatchObject({ status: 422, code: 'CALCULATION_INPUT', field: 'values.1' });
  });

  it('answers a body that is no JSON, and one that is too long', async () => {
    const post = () => service.ask.post('/api/v1/calc/summary').type('json');
    expect(await problem(post().send('{"values": [') as never)).toMatchObject({ status: 400, code: 'BAD_INPUT' });
    const long = JSON.stringify({ values: Array(400_000).fill(1.5) });
    expect(await problem(post().send(long) as never)).toMatchObject({ status: 413, code: 'BAD_INPUT' });
  });

  it('hides what an unexpected error says', () => {
    const { status, detail } = problemOf(new Error('secret path'), '/x');
    expect(status).toBe(500);
    expect(detail).not.toContain('secret');
  });
});

describe('who may ask', () => {
  it.each([
    ['another site', { 'Sec-Fetch-Site': 'cross-site' }],
    ['a sibling host', { 'Sec-Fetch-Site': 'same-site' }],
    ['an old browser on another site', { Origin: 'http://elsewhere.example' }],
    ['a page without origin', { Origin: 'null' }],
  ])('refuses a change asked for by %s', async (_who, headers) => {
    const size = await service.services.store.read.ledger.size();
    for (const path of ['/lots/L-02/records', '/api/v1/lots/L-02/records', '/calculations/summary']) {
      expect((await service.ask.post(path).set(headers)).status).toBe(403);
    }
    expect(await service.services.store.read.ledger.size()).toBe(size);
  });

  it('takes a change from its own pages', async () => {
    const asked = sendForm(service.ask, '/lots/L-02/assess').set({ 'Sec-Fetch-Site': 'same-origin' });
    expect((await asked).status).toBe(303);
  });

  it('answers to its own names only', async () => {
    expect((await service.ask.get('/').set('Host', 'elsewhere.example')).status).toBe(403);
    expect((await service.ask.get('/').set('Host', 'localhost:4680')).status).toBe(200);
  });
});

describe('the OpenAPI document', () => {
  interface Operation {
    readonly operationId: string;
    readonly parameters?: { readonly in: string; readonly name: string; readonly required: boolean }[];
    readonly requestBody?: { readonly content: Record<string, { readonly example: object }> };
  }
  interface Document {
    readonly openapi: string;
    readonly paths: Record<string, Record<string, Operation>>;
    readonly components: object;
  }
  let document: Document;
  beforeAll(async () => {
    document = (await service.ask.get('/api/v1/openapi.json')).body;
  });
  const operations = () =>
    Object.entries(document.paths).flatMap(([path, item]) =>
      Object.values(item).map((operation) => ({ path, operation })),
    );

  it('is version 3.1 with one operation for every endpoint and calculation', async () => {
    expect(document.openapi).toBe('3.1.0');
    const names = (await service.ask.get('/api/v1/calc')).body.calculations.map((item: { name: string }) => item.name);
    expect(operations().map(({ path }) => path)).toEqual(
      expect.arrayContaining(names.map((name: string) => `/calc/${name}`)),
    );
    const endpoints = endpointsOf(service.app.get(Routes).all());
    // One route answers every calculation, each of which is an operation.
    expect(operations()).toHaveLength(endpoints.length - 1 + names.length);
    expect(endpoints.map(({ method, path }) => `${method} ${path}`)).toEqual(
      expect.arrayContaining(['post /session', 'get /lots/{lot}', 'post /sign', 'get /evidence/{sha256}']),
    );
  });

  it('says of the body and of the query what the same schemas ask of a request', () => {
    const sign = document.paths['/sign']!.post!.requestBody!.content['application/json'] as unknown as {
      readonly schema: { readonly required: string[]; readonly additionalProperties: boolean };
    };
    expect(sign.schema).toMatchObject({ required: ['things', 'meaning', 'password'], additionalProperties: false });
    expect(document.paths['/trend']!.get!.parameters!.map(({ name, required }) => [name, required])).toEqual([
      ['family', true],
      ['characteristic', true],
      ['from', false],
      ['to', false],
    ]);
    expect(document.paths['/session']!.post).toMatchObject({ security: [] });
    expect(document.paths['/session']!.get).not.toHaveProperty('security');
  });

  it('has unique operation ids, declares every path parameter, and refers only to what it holds', () => {
    const ids = operations().map(({ operation }) => operation.operationId);
    expect(new Set(ids).size).toBe(ids.length);
    for (const { path, operation } of operations()) {
      const named = [...path.matchAll(/\{(\w+)\}/g)].map((match) => match[1]);
      const declared = (operation.parameters ?? []).filter((item) => item.in === 'path');
      expect(declared.map((item) => item.name)).toEqual(named);
    }
    for (const [, target] of JSON.stringify(document).matchAll(/"\$ref":"#\/components\/([^"]+)"/g)) {
      const found = target!
        .split('/')
        .reduce<unknown>((place, step) => (place as Record<string, unknown> | undefined)?.[step], document.components);
      expect(found).toBeDefined();
    }
  });

  it('gives examples that its own service computes', async () => {
    const { requestBody } = document.paths['/calc/mass-loss-rate']!.post!;
    const { example } = requestBody!.content['application/json']!;
    expect((await service.ask.post('/api/v1/calc/mass-loss-rate').send(example)).status).toBe(200);
  });

  it('explains every code of a problem on the API page', async () => {
    const { text } = await service.ask.get('/api');
    for (const code of Object.keys(HTTP_STATUS)) {
      expect(text).toContain(`id="problem-${code.toLowerCase().replaceAll('_', '-')}"`);
    }
  });
});
