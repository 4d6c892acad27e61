// usage: npm run test:slow [-- --quick] [-- PATH …]: the suites as on a machine that is ten times slower.
// The run is a process group of its own that may work for one slice in ten and stands still for the rest, and so takes
// a tenth of this machine. Arguments go to scripts/test.mjs.
import { spawn } from 'node:child_process';
import { setTimeout as sleep } from 'node:timers/promises';
import { ensureBuilt, ROOT } from './ensure.mjs';

const TIMES_SLOWER = 10;
const SLICE_MS = 20;

ensureBuilt();
// No input: a group that is not the one of the terminal would be stopped for good when it reads.
const child = spawn(process.execPath, ['scripts/test.mjs', ...process.argv.slice(2)], {
  cwd: ROOT,
  stdio: ['ignore', 'inherit', 'inherit'],
  detached: true,
});
let running = true;
child.once('exit', (code) => {
  running = false;
  process.exitCode = code ?? 1;
});

function signal(name) {
  try {
    process.kill(-child.pid, name);
  } catch (error) {
    if (error.code !== 'ESRCH') throw error;
  }
}

for (const name of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.once(name, () => ['SIGTERM', 'SIGCONT'].forEach(signal));

const begun = performance.now();
let workedMs = 0;
while (running) {
  const awake = performance.now();
  await sleep(SLICE_MS);
  signal('SIGSTOP');
  // On a busy machine this process wakes late too: what the run had too much, it waits for.
  const sliceMs = performance.now() - awake;
  workedMs += sliceMs;
  await sleep(running ? sliceMs * (TIMES_SLOWER - 1) : 0);
  signal('SIGCONT');
}
const seconds = (ms) => Math.round(ms / 1000);
console.log(
  `The run took ${seconds(performance.now() - begun)} s and was let work for ${seconds(workedMs)} s of them.`,
);
