// Runs when `npm pack` does: compiles into empty folders, and packs the lock file, which npm takes under this name alone.
import fs from 'node:fs';
import path from 'node:path';
import { ensureBuilt, ROOT } from './ensure.mjs';

const lockFile = path.join(ROOT, 'npm-shrinkwrap.json');

if (process.argv[2] === '--undo') {
  fs.rmSync(lockFile, { force: true });
} else {
  // The compiler leaves what earlier sources became.
  for (const folder of ['dist', 'bundle']) fs.rmSync(path.join(ROOT, folder), { recursive: true, force: true });
  ensureBuilt();
  fs.copyFileSync(path.join(ROOT, 'package-lock.json'), lockFile);
}
