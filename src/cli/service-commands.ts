import type { Command } from 'commander';
import { runDemo } from '../demo/run-demo.js';
import { timeText } from '../dossier/time-text.js';
import { serve } from '../main.js';
import { type CommonOptions, dataFolderOf, runBare } from './run.js';

/** Commands that start something: the service, and the demo. */
export function addServiceCommands(program: Command): void {
  program
    .command('serve')
    .option('--port <port>', 'port', '4680')
    .option('--host <host>', 'address; this version serves this machine only', '127.0.0.1')
    .description('pages and JSON API')
    .action((options: { port: string; host: string }) =>
      runBare(program, async (out, common) => {
        const service = await serve({ data: dataFolderOf(common), port: Number(options.port), host: options.host });
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

  program
    .command('demo')
    .description('the invented scenario in a fresh data folder, with the records of its lots')
    .action(() =>
      runBare(program, async (out, common: CommonOptions) => {
        const result = await runDemo({ folder: common.data ?? 'var/demo', say: (line = '') => out.line(line) });
        out.object(result);
        return 0;
      }),
    );
}
