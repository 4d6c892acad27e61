import fs from 'node:fs';
import { MOST } from '../../src/base/limits.js';
import { buildProgram } from '../../src/program.js';

const unit = fs.readFileSync('deploy/lotwright.service', 'utf8');
const container = fs.readFileSync('deploy/Containerfile', 'utf8');
const wordsOf = (json: string) => JSON.parse(json) as string[];

/** Options and arguments as the program takes them; nothing is run. */
function understood(args: readonly string[]) {
  const program = buildProgram();
  const serve = program.commands.find((command) => command.name() === 'serve')!;
  let options: Record<string, unknown> | undefined;
  serve.action((given: Record<string, unknown>) => {
    options = given;
  });
  program.parse(args, { from: 'user' });
  return { ...program.opts(), ...options };
}

it('starts by the unit as the program understands it, and stops it later than it ends by itself', () => {
  const [node, cli, ...args] = /^ExecStart=(.*)$/m.exec(unit)![1]!.split(' ');
  expect([node, cli!.endsWith('/lotwright/bundle/cli.js')]).toEqual(['/usr/bin/node', true]);
  expect(understood(args)).toMatchObject({ data: '/var/lib/lotwright/data', host: '127.0.0.1', port: '4680' });
  expect(Number(/^TimeoutStopSec=(\d+)$/m.exec(unit)![1]) * 1000).toBeGreaterThan(2 * MOST.drainMs);
});

it('starts in the container as the program understands it, of files that are there', () => {
  const [, cli] = wordsOf(/^ENTRYPOINT (.*)$/m.exec(container)![1]!);
  expect(cli).toBe('/opt/lotwright/bundle/cli.js');
  expect(understood(wordsOf(/^CMD (.*)$/m.exec(container)![1]!))).toMatchObject({
    ...{ host: '0.0.0.0', port: '4680', tlsCert: '/tls/cert.pem', tlsKey: '/tls/key.pem' },
  });
  const copied = [...container.matchAll(/^COPY (?!--from)(.*) \S+$/gm)].flatMap(([, names]) => names!.split(' '));
  expect(copied.length).toBeGreaterThan(10);
  expect(copied.filter((name) => !fs.existsSync(name))).toEqual([]);
  // What the package holds, and what makes it, is there to be copied.
  const { files } = JSON.parse(fs.readFileSync('package.json', 'utf8')) as { files: string[] };
  const made = ['npm-shrinkwrap.json', 'bundle', 'third-party'];
  const wanted = new Set(files.map((name) => name.split('/')[0]!).filter((name) => !made.includes(name)));
  expect([...wanted].filter((name) => !copied.includes(name))).toEqual([]);
});
