import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import request from 'supertest';
import { createApplication } from '../../src/main.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { formNumber } from '../../src/web/form-once.js';
import { makeCellWithHistory, temporaryFolder, writeCell } from './cell.js';
import { PASSWORD } from './people.js';
import { openServices, type Services } from './services.js';
import { signWhatCameIn } from './sign-cell.js';
import { copyOfTemplate } from './template.js';
import { until } from './until.js';

/** A text that would run, break out of an attribute or close a tag if a page let it. */
export const HOSTILE_TEXT = `<script>alert(1)</script> " onfocus="x" ' & </textarea>`;

export type Asking = ReturnType<typeof request.agent>;

/** What a browser or a program holds once it is signed in. */
export interface SignedIn {
  /** `name=value` of the cookie. */
  readonly cookie: string;
  readonly csrf: string;
}

export async function signIn(app: NestExpressApplication, person: string): Promise<SignedIn> {
  const { status, headers, body } = await request(app.getHttpServer())
    .post('/api/v1/session')
    .send({ person, password: PASSWORD });
  if (status !== 200) throw new Error(`${person} could not sign in: ${JSON.stringify(body)}`);
  const [cookie] = headers['set-cookie'] as unknown as string[];
  return { cookie: cookie!.split(';')[0]!, csrf: (body as { csrf: string }).csrf };
}

/** Sends a form as the page that shows it does, with a number of its own. */
export const sendForm = (ask: Pick<Asking, 'post'>, path: string, fields: object = {}, number = formNumber()) =>
  ask
    .post(path)
    .type('form')
    .send({ ...fields, 'form-number': number });

/** The answer at the end of the job that an answer leads to; any other as it is. */
export async function endOfJob(ask: Pick<Asking, 'get'>, answer: request.Response): Promise<request.Response> {
  const { location } = answer.headers as { location?: string };
  if (answer.status !== 303 || !location?.startsWith('/jobs/')) return answer;
  return until(async () => {
    const at = await ask.get(location);
    return at.text.includes('data-open') ? null : at;
  });
}

export const issueRecord = async (ask: Asking, lot: string): Promise<request.Response> =>
  endOfJob(ask, await sendForm(ask, `/lots/${lot}/records`));

export async function askingAs(app: NestExpressApplication, person: string): Promise<Asking> {
  const { cookie, csrf } = await signIn(app, person);
  return request.agent(app.getHttpServer()).set('Cookie', cookie).set('X-CSRF-Token', csrf);
}

export interface TestService {
  readonly services: Services;
  readonly app: NestExpressApplication;
  /** Asks the service as a program would, signed in as the quality engineer. */
  readonly ask: Asking;
  /** The same for another of the people of `people.ts`. */
  as(person: string): Promise<Asking>;
  /** Asks without being signed in. */
  readonly stranger: ReturnType<typeof request>;
  close(): Promise<void>;
}

/**
 * The service over a folder with six earlier lots and `L-1`, of which one implant is too thick by a typed value that was
 * corrected. Every lot is assessed but the first of them, `L-00`.
 */
export async function startTestService(): Promise<TestService> {
  const data = path.join(temporaryFolder('web'), 'data');
  await copyOfTemplate('test-service', makeServiceFolder, data);
  return serviceOver(data);
}

/** The service over a folder that a test made. */
export async function serviceOver(data: string): Promise<TestService> {
  const services = await openServices(DataFolder.open(data));
  const app = await createApplication(services.store);
  return {
    services,
    app,
    ask: await askingAs(app, 'P-QE'),
    as: (person) => askingAs(app, person),
    stranger: request(app.getHttpServer()),
    close: async () => {
      await app.close();
      await services.store.close();
    },
  };
}

async function makeServiceFolder(data: string): Promise<void> {
  const cell = makeCellWithHistory();
  cell.documents['site/family.yaml']!.title = HOSTILE_TEXT;
  const folder = DataFolder.createDemo(data, '2031-01-20T12:00:00Z');
  const services = await openServices(folder);
  const root = writeCell(cell);
  // Documents are signed before the first chamber closes.
  await services.intake.run(path.join(root, 'site'), 'local:tester');
  await signWhatCameIn(services);
  folder.advanceTo('2031-03-05T12:00:00Z');
  await services.intake.run(root, 'local:tester');
  const sheet = cell.sheets['lots/L-1/results/size.csv']!;
  sheet[0] = { ...sheet[0], value: '1.700', reason: 'read from the wrong line' };
  writeCell(cell, root);
  folder.advanceTo('2031-03-06T12:00:00Z');
  await services.intake.run(root, 'local:tester');
  await signWhatCameIn(services);
  for (const lot of ['L-01', 'L-02', 'L-03', 'L-04', 'L-05', 'L-1'])
    await services.assessor.assess(lot, 'local:tester');
  await services.store.close();
}

/** Paths of pages, one of each kind. */
export const PAGES = [
  '/',
  '/lots',
  '/lots/L-1',
  '/lots/L-1/build',
  '/lots/L-1/tests',
  '/lots/L-1/materials',
  '/lots/L-1/checks',
  '/lots/L-1/papers',
  '/lots/L-1/implants/L-1-I1',
  '/lots/L-1/family',
  '/lots/L-00',
  '/lots/L-05',
  '/lots/L-1/logs/M1-101',
  '/lots/L-1/logs/M1-101?channel=oxygen&by=layer',
  '/lots/L-1/logs/M1-101/rows',
  '/materials',
  '/find',
  '/find?id=L-1-I1',
  '/find?id=0417',
  '/find?id=nothing-has-this-name',
  '/find/rows?id=0417&match=1&part=units',
  // With an answer it may lead to the page of a job on a slow machine (tests/trace/impact.test.ts).
  '/impact',
  '/recalls',
  '/questions',
  '/questions/lots',
  '/intake',
  '/intake/export/L-1',
  '/enter/lot?of=L-1',
  '/sheets/L-00',
  '/prepare',
  '/families',
  '/trend?family=PLATE&characteristic=rm',
  '/design?family=PLATE',
  '/calculations',
  '/calculations/mass-loss-rate',
  '/calculations/fit',
  '/api',
  '/people',
  '/people/P-QE',
  '/people/P-AN',
  '/account',
  '/account/tokens',
  '/audit',
  '/audit?thing=L-1&act=results-recorded',
  '/protection',
  '/cautions',
  '/parts',
  '/nowhere',
] as const;
