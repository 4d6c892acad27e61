import { spawn, spawnSync } from 'node:child_process';
import path from 'node:path';
import { CLI, ENVIRONMENT, lotwright } from '../faults/command.js';
import { temporaryFolder } from '../support/cell.js';

// Not quick: it starts the program on a terminal of its own.

const data = path.join(temporaryFolder('terminal'), 'data');
const TYPED = 'seven quiet lanterns';

/** Whether this system can give a program a terminal. */
const canGive = spawnSync('script', ['-qec', 'true', '/dev/null'], { stdio: 'ignore' }).status === 0;

/** Runs a command on a terminal, and types a line when it asks. @returns all that the terminal showed. */
function onTerminal(words: string, typed: string): Promise<{ code: number | null; shown: string }> {
  const command = `${process.execPath} ${CLI} --data ${data} ${words}`;
  const child = spawn('script', ['-qec', command, '/dev/null'], { env: ENVIRONMENT });
  let shown = '';
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    const hadAsked = /passphrase/i.test(shown);
    shown += text;
    if (!hadAsked && /passphrase/i.test(shown)) child.stdin.write(`${typed}\r`);
  });
  return new Promise((resolve) => child.once('close', (code) => resolve({ code, shown })));
}

it.runIf(canGive)(
  'asks for a passphrase on a terminal, shows nothing of it, and says when it does not fit',
  async () => {
    expect(lotwright(data, 'status').code).toBe(0);
    const locked = await onTerminal('keys lock', TYPED);
    expect(locked).toMatchObject({ code: 0, shown: expect.stringContaining('asks for its passphrase from now on') });
    expect(locked.shown).not.toContain(TYPED);
    const refused = await onTerminal('serve --port 0', 'another passphrase');
    expect(refused).toMatchObject({ code: 2, shown: expect.stringContaining('that was given does not open it') });
    expect(refused.shown).not.toMatch(/another passphrase|\n\s+at /);
  },
);
