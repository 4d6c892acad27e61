import fs from 'node:fs';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import { scanFile } from '../../src/process-logs/scan-stream.js';
import { temporaryFolder } from '../support/cell.js';
import { type LogShape, logText, planFor } from '../support/log-maker.js';

const LONG = Boolean(process.env.LOTWRIGHT_TEST_LONG);
const MEMBERS = LONG ? 64 : 4;
/** What the scanner of logs may hold whatever the size of a log (docs/architecture.md, budgets). */
const MEMORY_BUDGET = 150 << 20;
const SHAPE: LogShape = { seed: 7, rows: 50 };

/** A gzip file of many members with the same text: a thousand times larger unpacked than packed. */
function bomb(head: string, text: string, memberBytes: number): string {
  const file = path.join(temporaryFolder('bomb'), 'log.csv.gz');
  fs.writeFileSync(file, gzipSync(head));
  const member = gzipSync(Buffer.alloc(memberBytes, text), { level: 9 });
  for (let count = 0; count < MEMBERS; count += 1) fs.appendFileSync(file, member);
  return file;
}

/** The most memory held during the work beyond what was held before. */
async function memoryOf(work: () => Promise<unknown>): Promise<number> {
  const before = process.memoryUsage.rss();
  let most = before;
  const watch = setInterval(() => {
    most = Math.max(most, process.memoryUsage.rss());
  }, 20);
  try {
    await work();
  } finally {
    clearInterval(watch);
  }
  return Math.max(most, process.memoryUsage.rss()) - before;
}

describe('a log that unpacks to far more than it is (ASVS 12.1.2)', () => {
  it.each([
    ['one line without end', logText(SHAPE), '0', 64 << 20],
    ['nothing but line feeds', logText(SHAPE), '\n', 8 << 20],
    // Each is looked at and counted, which takes its time.
    ['rows that are none', logText(SHAPE), 'x,1\n', 1 << 19],
    ['no header', '', '0', 64 << 20],
  ])('%s: takes no more memory than any other log, and is told of', async (_, head, text, memberBytes) => {
    const file = bomb(head, text, memberBytes);
    expect(fs.statSync(file).size).toBeLessThan((MEMBERS * memberBytes) / 100);
    let told: unknown;
    const memory = await memoryOf(async () => {
      told = await scanFile({ path: file, fileName: 'log.csv.gz', plan: planFor(SHAPE) }).catch((error) => error);
    });
    // Beside other suites in one process memory says little: it is held to its budget in the long run, where it would grow.
    if (LONG) expect(memory).toBeLessThan(MEMORY_BUDGET);
    // Either the file as a whole is refused, or its report counts what could not be read.
    if (told instanceof Error) expect(told).toMatchObject({ code: 'BAD_INPUT' });
    else expect(told).toMatchObject({ facts: { rows: SHAPE.rows } });
  });
});
