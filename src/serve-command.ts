import type { Command } from 'commander';
import { exits } from './cli/exits.js';
import { bare } from './cli/run.js';

export function addServeCommand(program: Command): void {
  exits(program.command('serve'), { 5: 'refused: other machines would reach it without TLS' })
    .option('--port <port>', 'port', '4680')
    .option('--host <host>', 'address; one that other machines reach needs TLS', '127.0.0.1')
    .option('--tls-cert <file>', 'certificate in PEM; LOTWRIGHT_TLS_CERT when absent')
    .option('--tls-key <file>', 'its private key in PEM, mode 0600; LOTWRIGHT_TLS_KEY when absent')
    .option(
      '--proxy <addresses>',
      'proxies before it, with commas between them: they say from where each request comes',
    )
    .option('--watcher <address>', 'another machine that may read /metrics; this machine always may')
    .option('--log <file>', 'file of the log, one JSON object a line; standard error when absent')
    .description('pages and JSON API')
    .action(bare(() => import('./serve-run.js')));
}
