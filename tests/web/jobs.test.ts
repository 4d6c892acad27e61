import { AppError } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import { type JobRun, Jobs, type WantedJob } from '../../src/web/jobs.js';
import { endOfJob, sendForm, startTestService, type TestService } from '../support/service.js';

const [OWN, OTHER] = [
  { person: 'P-1', name: 'One' },
  { person: 'P-2', name: 'Two' },
];

/** Work that ends when it is told to. */
function work() {
  let go!: (to: string) => void;
  let fail!: (error: Error) => void;
  const ends = new Promise<string>((resolve, reject) => {
    go = resolve;
    fail = reject;
  });
  let seen: JobRun | undefined;
  const wanted = (key: string, starter = OWN): WantedJob => ({
    key,
    sort: 'test',
    title: key,
    starter,
    back: '/',
    work: async (run) => {
      seen = run;
      return Promise.race([
        ends,
        new Promise<never>((_, reject) => run.signal.addEventListener('abort', () => reject(run.signal.reason))),
      ]);
    },
  });
  return { wanted, go, fail, run: () => seen! };
}

describe('work that takes long', () => {
  it('runs once, whoever asks for it again', async () => {
    const jobs = new Jobs();
    const { wanted, go } = work();
    const first = jobs.begin(wanted('a'));
    expect(jobs.begin(wanted('a'))).toBe(first);
    expect(jobs.begin(wanted('a', OTHER))).toBe(first);
    go('/there');
    await first.ended;
    expect(first).toMatchObject({ state: 'done', to: '/there' });
    expect(jobs.begin(wanted('a'))).not.toBe(first);
  });

  it('waits for its turn, and is refused with a time when too much waits', async () => {
    const jobs = new Jobs();
    const { wanted, go } = work();
    const all = Array.from({ length: MOST.jobsAtOnce + MOST.jobsWaiting }, (_, at) => jobs.begin(wanted(`${at}`)));
    expect(all.filter(({ state }) => state === 'running')).toHaveLength(MOST.jobsAtOnce);
    let refused: unknown;
    try {
      jobs.begin(wanted('one more'));
    } catch (error) {
      refused = error;
    }
    expect(refused).toMatchObject({ code: 'BUSY', facts: { waitS: expect.any(Number) } });
    expect((refused as AppError).message).toMatch(/nothing was done: try again in \d+ seconds/);
    go('/');
    await Promise.all(all.map(({ ended }) => ended));
    expect(jobs.open()).toEqual([]);
  });

  it('is cancelled by its starter alone, whether it runs or waits', async () => {
    const jobs = new Jobs();
    const { wanted } = work();
    const all = Array.from({ length: MOST.jobsAtOnce + 1 }, (_, at) => jobs.begin(wanted(`${at}`)));
    expect(() => jobs.cancel(all[0]!.id, OTHER.person)).toThrow('nobody else can cancel it');
    for (const job of [all.at(-1)!, all[0]!]) {
      jobs.cancel(job.id, OWN.person);
      await job.ended;
      expect(job.state).toBe('cancelled');
    }
    await jobs.onApplicationShutdown();
    expect(all.map(({ state }) => state)).toEqual(all.map(() => 'cancelled'));
  });

  it('tells what went wrong to whoever waits for it, and how much time is left', async () => {
    const jobs = new Jobs();
    const { wanted, fail, run } = work();
    const waiting = jobs.beginAndWait(wanted('a'));
    const [job] = jobs.open();
    expect(jobs.leftS(job!)).toBeUndefined();
    run().progress(1, 2);
    expect(jobs.leftS(job!)).toBeLessThan(60);
    fail(new AppError('CONFLICT', 'another one came first'));
    await expect(waiting).rejects.toThrow('another one came first');
    expect(job!.state).toBe('failed');
  });
});

describe('the page of a job', () => {
  let service: TestService;
  beforeAll(async () => {
    service = await startTestService();
  });
  afterAll(() => service.close());

  it('is seen by all, cancelled by its starter, and leads on to its result, however often it is loaded', async () => {
    const jobs = service.app.get(Jobs);
    const { wanted, go, run } = work();
    const job = jobs.begin(wanted('Draw something', { person: 'P-QE', name: 'Quinn' }));
    run().progress(1, 4);
    const [own, other] = [service.ask, await service.as('P-OP')];
    const mine = await own.get(job.address);
    expect(mine.text).toMatch(/25 %[\s\S]*Cancel it/);
    const theirs = await other.get(job.address);
    expect(theirs.text).toContain('Begun by Quinn (P-QE)');
    expect(theirs.text).not.toContain('Cancel it');
    expect((await other.get('/jobs')).text).toContain(job.address);
    expect((await other.post(`${job.address}/cancel`)).status).toBe(403);
    go('/lots');
    await job.ended;
    for (let time = 0; time < 2; time++) {
      const { status, headers } = await own.get(job.address);
      expect([status, headers.location]).toEqual([303, '/lots']);
    }
    expect((await own.get('/jobs/nothing')).status).toBe(404);
  });

  it('leads two clicks on one act to one record', async () => {
    const jobs = service.app.get(Jobs);
    const { wanted, go } = work();
    const before = Array.from({ length: MOST.jobsAtOnce }, (_, at) => jobs.begin(wanted(`before ${at}`)));
    const sent = await Promise.all([1, 2].map(() => sendForm(service.ask, '/lots/L-02/records')));
    expect(sent[0]!.headers.location).toMatch(/^\/jobs\//);
    expect(sent.map(({ status, headers }) => [status, headers.location])).toEqual(
      [1, 2].map(() => [303, sent[0]!.headers.location]),
    );
    const papers = async () => (await service.ask.get('/lots/L-02/papers')).text;
    for (let time = 0; time < 2; time++) {
      const page = await papers();
      expect(page).toMatch(/is being issued now\. Begun by [^<]*\(P-QE\)/);
      expect(page).toContain(`href="${sent[0]!.headers.location}"`);
      expect(page).not.toContain('Issue a record of this lot');
    }
    go('/');
    await Promise.all(before.map(({ ended }) => ended));
    const { headers } = await endOfJob(service.ask, sent[1]!);
    expect(headers.location).toBe('/lots/L-02/papers#records');
    expect(await service.services.store.read.records.ofLot('L-02')).toHaveLength(1);
    expect(await papers()).toMatch(/LR-L-02 revision 1[\s\S]*Issue a record of this lot/);
  });

  it('answers that too much waits, and after how many seconds to try again, and begins nothing', async () => {
    const jobs = service.app.get(Jobs);
    const { wanted, go } = work();
    const all = Array.from({ length: MOST.jobsAtOnce + MOST.jobsWaiting }, (_, at) => jobs.begin(wanted(`full ${at}`)));
    const { status, headers, text } = await sendForm(service.ask, '/lots/L-1/records');
    expect([status, headers['retry-after']]).toEqual([503, expect.stringMatching(/^[1-9]\d*$/)]);
    expect(text).toContain(`nothing was done: try again in ${headers['retry-after']} seconds`);
    expect(jobs.open()).toHaveLength(all.length);
    go('/');
    await Promise.all(all.map(({ ended }) => ended));
    expect(await service.services.store.read.records.ofLot('L-1')).toEqual([]);
  });

  it('checks everything that is kept for an administrator, and nobody else', async () => {
    const [administrator, operator] = [await service.as('P-AD'), await service.as('P-OP')];
    expect((await operator.get('/protection')).text).not.toContain('Check it now');
    expect((await sendForm(operator, '/protection/check')).status).toBe(403);
    expect((await administrator.get('/protection')).text).toContain('Check it now');
    const { headers } = await endOfJob(administrator, await sendForm(administrator, '/protection/check'));
    expect(headers.location).toBe('/protection#checked');
    expect((await operator.get('/protection')).text).toMatch(/<p>All evidence was checked[^<]*<\/p>/);
    expect(await service.services.store.read.events.ofTypes(['integrity-checked'])).toHaveLength(1);
  });
});
