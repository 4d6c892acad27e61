import fs from 'node:fs';
import { sendForm, startTestService, type TestService } from '../support/service.js';
import { until } from '../support/until.js';

let service: TestService;
beforeAll(async () => {
  service = await startTestService();
});
afterAll(() => service.close());

const LOG = '/lots/L-1/logs/M1-101';

/** Waits for the one scan of the build that was asked for. */
async function lastScan(state: string): Promise<void> {
  await until(async () => {
    await service.services.rescans.runLeft();
    const [job] = await service.services.store.read.scanJobs.ofBuild('L-1', 'M1-101');
    return job?.state === state;
  });
}

describe('the page of a log', () => {
  it('shows the whole build, the chamber channel with its window, and leads to raw rows', async () => {
    const { text } = await service.ask.get(LOG).expect(200);
    expect(text).toContain('Build M1-101 from closing to opening the chamber');
    expect(text).toContain('oxygen in build M1-101, by time');
    expect(text).toContain('/rows');
    expect(text).toContain('it watches nothing live');
  });

  it('draws a channel over layers, and refuses one that was not logged', async () => {
    const { text } = await service.ask.get(`${LOG}?channel=oxygen&by=layer`).expect(200);
    expect(text).toContain('oxygen in build M1-101, by layer');
    await service.ask.get(`${LOG}?channel=argon`).expect(404);
    await service.ask.get(`${LOG}?by=zone`).expect(400);
    await service.ask.get('/lots/L-1/logs/M1-999').expect(404);
  });

  it('shows the log of a lot that nobody has assessed yet', async () => {
    const { text } = await service.ask.get('/lots/L-00/logs/M1-50').expect(200);
    expect(text).toContain('oxygen in build M1-50');
  });
});

describe('raw rows', () => {
  it('gives the rows of a time as received, with their lines', async () => {
    const { text } = await service.ask.get(`${LOG}/rows?from=2031-03-03T07:00:10Z&to=2031-03-03T07:00:13Z`).expect(200);
    expect(text).toContain('3 rows');
    expect(text.match(/2031-03-03T07:00:1\d\.000Z<\/td>/g)).toHaveLength(3);
    expect(text).toContain('<th scope="row" class="number">12</th>');
  });

  it('gives them as a file, byte for byte', async () => {
    const query = 'from=2031-03-03T07:00:10Z&to=2031-03-03T07:00:13Z';
    const { body, headers } = await service.ask.get(`${LOG}/rows/file?${query}`).expect(200);
    expect(headers['content-disposition']).toContain('rows_of_run.csv');
    const lines = (body as Buffer).toString().split('\n');
    expect(lines.map((line) => line.split(',')[0])).toEqual([
      '2031-03-03T07:00:10.000Z',
      '2031-03-03T07:00:11.000Z',
      '2031-03-03T07:00:12.000Z',
      '',
    ]);
  });

  it('begins with the first row, for ten minutes', async () => {
    const { text } = await service.ask.get(`${LOG}/rows`).expect(200);
    expect(text).toMatch(/\d+ rows/);
    expect(text).toContain('2031-03-03T07:10:00.000Z');
  });

  it('shows none of a log that was altered behind its back, and says so', async () => {
    const { store } = service.services;
    const [log] = await store.read.logs.ofLot('L-1');
    const file = await store.evidence.pathOf(log!.facts.sha256);
    const bytes = fs.readFileSync(file);
    fs.chmodSync(file, 0o644);
    fs.writeFileSync(file, Buffer.concat([bytes.subarray(0, 200), Buffer.from('9'), bytes.subarray(201)]));
    const { text } = await service.ask.get(`${LOG}/rows`).expect(({ status }) => expect(status).toBeGreaterThan(399));
    expect(text).toContain('The log was altered or damaged since it was scanned');
    fs.writeFileSync(file, bytes);
    await service.ask.get(`${LOG}/rows`).expect(200);
  });

  it.each([
    ['from=yesterday', 400],
    ['from=2031-03-03T07:00:00Z&to=2031-03-03T09:00:00Z', 400],
    ['from=2031-03-03T07:00:00Z&to=2031-03-03T06:00:00Z', 400],
    ['file=2', 404],
    ['file=0', 400],
    ['other=1', 400],
  ])('refuses %s', async (query, status) => {
    await service.ask.get(`${LOG}/rows?${query}`).expect(status);
  });
});

describe('scanning again', () => {
  it('runs in the background and finds the same', async () => {
    const before = await service.services.store.read.logs.ofLot('L-1');
    await sendForm(service.ask, `${LOG}/scan`).expect(303);
    await lastScan('done');
    expect(await service.services.store.read.logs.ofLot('L-1')).toEqual(before);
    const { text } = await service.ask.get(LOG).expect(200);
    expect(text).toContain('100 %');
  });

  it('can be cancelled while it waits, and only under its own build', async () => {
    const id = await service.services.rescans.ask('L-1', 'M1-101');
    await sendForm(service.ask, `/lots/L-01/logs/M1-51/scans/${id}/cancel`).expect(404);
    await sendForm(service.ask, `${LOG}/scans/${id}/cancel`).expect(303);
    const [job] = await service.services.store.read.scanJobs.ofBuild('L-1', 'M1-101');
    expect(job).toMatchObject({ id, state: 'cancelled' });
    expect(await service.services.store.scanJobs.left()).toEqual([]);
  });

  it('is refused to a stranger', async () => {
    await service.stranger.post(`${LOG}/scan`).expect(({ status }) => expect([303, 401]).toContain(status));
    expect(await service.services.store.scanJobs.left()).toEqual([]);
  });
});
