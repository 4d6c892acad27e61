// Processor time of a command from its start to its end, on the demo, and how long the demo itself takes.
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const CLI = fileURLToPath(new URL('../../bundle/cli.js', import.meta.url));
const RUNS = 5;

/** A shell says at its end what its children took, in user and system time. */
const TIMED = '"$@" > /dev/null && times';

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-commands-'));
  try {
    const data = path.join(folder, 'demo');
    const begun = performance.now();
    seconds('--data', data, 'demo');
    const demo = (performance.now() - begun) / 1000;
    const commands = [['status'], ['trace', 'H7731'], ['trend', 'rm', '--family', 'BRIDGE-PLATE']].map((words) => ({
      name: words[0],
      seconds: median(() => seconds('--data', data, ...words)),
    }));
    const slowest = commands.reduce((a, b) => (b.seconds > a.seconds ? b : a));
    const each = commands.map((command) => `${command.name} ${command.seconds.toFixed(2)}`).join(', ');
    return [
      { name: 'start of a command, --help', figure: median(() => seconds('--help')) },
      {
        name: 'start of a command, status, trace, trend on the demo, slowest',
        of: each,
        figure: slowest.seconds,
      },
      { name: 'demo from an empty folder', figure: demo },
    ];
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

/** Processor time of one command. */
function seconds(...words) {
  const { status, stdout, stderr } = spawnSync('sh', ['-c', TIMED, 'sh', process.execPath, CLI, ...words], {
    encoding: 'utf8',
  });
  const taken = /(\d+)m([\d.]+)s (\d+)m([\d.]+)s\s*$/.exec(stdout);
  if (status !== 0 || !taken) throw new Error(`lotwright ${words.join(' ')} ended with ${status}: ${stderr}`);
  const [userMin, user, systemMin, system] = taken.slice(1).map(Number);
  return 60 * (userMin + systemMin) + user + system;
}

function median(measure) {
  const values = Array.from({ length: RUNS }, measure).sort((a, b) => a - b);
  return values[Math.floor(RUNS / 2)];
}
