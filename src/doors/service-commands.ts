import type { Command } from 'commander';
import { BadInputError } from '../base/errors.js';
import { exits } from '../cli/exits.js';
import { type CommonOptions, dataFolderOf, runBare } from '../cli/run.js';
import { timeText } from '../dossier/time-text.js';
import { type ServeOptions, serve } from '../main.js';
import { runDemo } from '../qualification/run-demo.js';

interface ServeCommand {
  readonly port: string;
  readonly host: string;
  readonly tlsCert?: string;
  readonly tlsKey?: string;
  readonly log?: string;
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

/** Commands that start something: the service, and the demo. */
export function addServiceCommands(program: Command): void {
  exits(program.command('serve'), { 5: 'refused: other machines would reach it without TLS' })
    .option('--port <port>', 'port', '4680')
    .option('--host <host>', 'address; one that other machines reach needs TLS', '127.0.0.1')
    .option('--tls-cert <file>', 'certificate in PEM; LOTWRIGHT_TLS_CERT when absent')
    .option('--tls-key <file>', 'its private key in PEM, mode 0600; LOTWRIGHT_TLS_KEY when absent')
    .option('--log <file>', 'file of the log, one JSON object a line; standard error when absent')
    .description('pages and JSON API')
    .action((options: ServeCommand) =>
      runBare(program, async (out, common) => {
        const service = await serve({
          data: dataFolderOf(common),
          port: Number(options.port),
          host: options.host,
          ...tlsFrom(options),
          ...(options.log === undefined ? {} : { logFile: options.log }),
        });
        out.line(`Lotwright serves ${dataFolderOf(common)} at ${service.url}  (Ctrl+C ends it)`);
        if (service.firstLink) {
          out.line('Nobody has an account yet. Open this link once to make the first administrator:');
          out.line(`  ${service.firstLink.url}`);
          out.line(`It runs out at ${timeText(service.firstLink.expiresAt)}, or when the service starts again.`);
        }
        await service.ended;
        return 0;
      }),
    );

  exits(program.command('demo'), { 5: 'refused: the folder holds something else' })
    .description('the invented scenario in a fresh data folder, with the records of its lots')
    .action(() =>
      runBare(program, async (out, common: CommonOptions) => {
        const result = await runDemo({ folder: common.data ?? 'var/demo', say: (line = '') => out.line(line) });
        out.object(result);
        return 0;
      }),
    );
}
