import { spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';

const CLI = path.resolve('bundle/cli.js');

it('ends with its own code when nobody reads on', async () => {
  const command = spawn(process.execPath, [CLI, 'calc', 'summary', '--lines'], { stdio: 'pipe' });
  command.stdout.destroy();
  command.stderr.destroy();
  command.stdin.end('{}\n{}\n');
  const [code, signal] = await once(command, 'exit');
  expect([code, signal]).toEqual([2, null]);
});
