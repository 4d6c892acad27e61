import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { BadInputError } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { WorkerPool, workerLoads } from '../../src/base/worker-pool.js';

type Task = 'echo' | 'bad input' | 'refused' | 'bug' | 'hoard' | 'never' | 'who';

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'worker-pool-'));
const file = path.join(folder, 'worker.mjs');

beforeAll(() => {
  const compiled = (name: string) => JSON.stringify(pathToFileURL(path.join(PROGRAM_ROOT, 'dist', name)));
  fs.writeFileSync(
    file,
    `import { threadId } from 'node:worker_threads';
    import { AppError, BadInputError } from ${compiled('base/errors.js')};
    import { answering } from ${compiled('base/worker-answer.js')};
    let running = 0;
    export default answering(async (task) => {
      if (task === 'bad input') throw new BadInputError([{ code: 'x', field: 'a', expected: 'b', remedy: 'c' }]);
      if (task === 'refused') throw new AppError('REFUSED', 'not now', { why: 'closed' });
      if (task === 'bug') throw new TypeError('a bug');
      if (task === 'hoard') for (const all = []; ; ) all.push(new Array(10_000).fill(all.length));
      if (task === 'never') await new Promise((resolve) => setTimeout(resolve, 600_000));
      const others = running++;
      await new Promise(setImmediate);
      running--;
      return task === 'who' ? { threadId, others } : task;
    });`,
  );
});

afterAll(() => fs.rmSync(folder, { recursive: true }));

const pool = new WorkerPool<Task, unknown>(pathToFileURL(file), 40);

it('brings values and errors back as the task gave them', async () => {
  expect(await pool.run('echo')).toBe('echo');
  const wrong = await pool.run('bad input').catch((error: unknown) => error);
  expect(wrong).toBeInstanceOf(BadInputError);
  expect((wrong as BadInputError).problems).toEqual([{ code: 'x', field: 'a', expected: 'b', remedy: 'c' }]);
  await expect(pool.run('refused')).rejects.toMatchObject({
    code: 'REFUSED',
    message: 'not now',
    facts: { why: 'closed' },
  });
  await expect(pool.run('bug')).rejects.toMatchObject({ name: 'TypeError', message: 'a bug' });
});

it('does one task at a time, in one other thread', async () => {
  const answers = (await Promise.all(['who', 'who', 'who', 'who'].map(() => pool.run('who')))) as {
    threadId: number;
    others: number;
  }[];
  expect(new Set(answers.map(({ threadId }) => threadId)).size).toBe(1);
  expect(answers.map(({ others }) => others)).toEqual([0, 0, 0, 0]);
});

it('ends a task that takes more memory than it may, and does the next one', async () => {
  await expect(pool.run('hoard')).rejects.toMatchObject({ code: 'ERR_WORKER_OUT_OF_MEMORY' });
  expect(await pool.run('echo')).toBe('echo');
});

it('ends a task when it is told to', async () => {
  const ending = new AbortController();
  const never = pool.run('never', { signal: ending.signal });
  ending.abort();
  await expect(never).rejects.toMatchObject({ name: 'AbortError' });
  expect(await pool.run('echo')).toBe('echo');
});

it('refuses what would wait behind too many others, says when to try again, and takes tasks again afterwards', async () => {
  const own = new WorkerPool<Task, unknown>(pathToFileURL(file));
  const load = () => workerLoads().at(-1)!;
  const all = Array.from({ length: 1 + MOST.workerWaiting }, () => own.run('echo'));
  expect(load()).toEqual({ name: 'worker', running: 1, waiting: MOST.workerWaiting, refused: 0 });
  await expect(own.run('echo')).rejects.toMatchObject({
    code: 'BUSY',
    message: expect.stringMatching(/nothing was done: try again in \d+ seconds/),
    facts: { waitS: expect.any(Number) },
  });
  expect(await Promise.all(all)).toHaveLength(1 + MOST.workerWaiting);
  expect(load()).toMatchObject({ running: 0, waiting: 0, refused: 1 });
  expect(await own.run('echo')).toBe('echo');
});

it('says when there is no compiled worker', () => {
  expect(pool.isCompiled).toBe(true);
  expect(new WorkerPool(pathToFileURL(path.join(folder, 'none.mjs'))).isCompiled).toBe(false);
});
