import { setFlagsFromString } from 'node:v8';
import { BadInputError } from './base/errors.js';
import type { Output } from './cli/output.js';
import { passphraseOf } from './cli/passwords.js';
import { type CommonOptions, dataFolderOf } from './cli/run.js';
import { type ServeOptions, serve } from './main.js';
import { SERVE_LINES } from './report/phrases/commands/serve.js';
import { isKeyLocked } from './store/installation-key.js';
import { passphraseGiven, rememberPassphrase } from './store/key-passphrase.js';

/** What V8 has by itself. `cli.ts` has it wait longer, for commands that end before a second compilation pays. */
const COMPILE_AGAIN = '--interrupt-budget=67584';

interface ServeCommand {
  readonly port: string;
  readonly host: string;
  readonly tlsCert?: string;
  readonly tlsKey?: string;
  readonly log?: string;
  readonly proxy?: string;
  readonly watcher?: string;
}

export async function run(out: Output, common: CommonOptions, options: ServeCommand): Promise<number> {
  const data = dataFolderOf(common);
  // Without a terminal it comes by a file descriptor.
  if (process.stdin.isTTY && isKeyLocked(data) && passphraseGiven() === undefined) {
    rememberPassphrase(await passphraseOf(SERVE_LINES.passphrase, false));
  }
  const service = await serve({
    data,
    port: Number(options.port),
    host: options.host,
    ...tlsFrom(options),
    ...(options.proxy === undefined ? {} : { proxy: options.proxy }),
    ...(options.watcher === undefined ? {} : { watcher: options.watcher }),
    ...(options.log === undefined ? {} : { logFile: options.log }),
  });
  setFlagsFromString(COMPILE_AGAIN);
  out.line(SERVE_LINES.serves(data, service.url));
  if (service.firstLink) {
    out.line(SERVE_LINES.firstLink);
    out.line(SERVE_LINES.link(service.firstLink.url));
    out.line(SERVE_LINES.runsOut(service.firstLink.expiresAt));
  }
  await service.ended;
  return 0;
}

/** Both files or neither: half of it would serve plain HTTP to whoever believes otherwise. */
function tlsFrom(options: ServeCommand): Pick<ServeOptions, 'tls'> {
  const cert = options.tlsCert ?? process.env.LOTWRIGHT_TLS_CERT;
  const key = options.tlsKey ?? process.env.LOTWRIGHT_TLS_KEY;
  if (cert === undefined && key === undefined) return {};
  if (cert !== undefined && key !== undefined) return { tls: { cert, key } };
  throw new BadInputError([
    {
      code: 'tls',
      field: cert === undefined ? '--tls-cert' : '--tls-key',
      found: 'nothing',
      expected: 'both --tls-cert and --tls-key',
      remedy: 'name the other file too',
    },
  ]);
}
