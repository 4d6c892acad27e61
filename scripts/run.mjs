// usage: node scripts/run.mjs COMMAND …: installs and compiles what is missing, then runs the `lotwright` command.
import path from 'node:path';
import { ensureBuilt, ROOT } from './ensure.mjs';

ensureBuilt();
process.argv.splice(1, 1, path.join(ROOT, 'bundle', 'cli.js'));
await import('../bundle/cli.js');
