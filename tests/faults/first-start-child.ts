import fs from 'node:fs';
import Database from 'better-sqlite3';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';

// Opens a data folder and kills itself without warning behind the STOPth change that it makes on the disk.
// usage: first-start-child.ts FOLDER STOP
const [folder, stop] = process.argv.slice(2) as [string, string];
let changes = 0;

function changed(): void {
  changes += 1;
  if (changes === Number(stop)) process.kill(process.pid, 'SIGKILL');
}

/** Calls `behind` with what the method was called on, once it has done its work. */
function watch<T extends object>(owner: T, name: keyof T & string, behind: (self: unknown) => void): void {
  const method = owner[name] as (...values: unknown[]) => unknown;
  Object.assign(owner, {
    [name](this: unknown, ...values: unknown[]) {
      const answer = method.apply(this, values);
      behind(this);
      return answer;
    },
  });
}

for (const name of ['mkdirSync', 'writeFileSync', 'renameSync', 'linkSync', 'rmSync'] as const) {
  watch(fs, name, changed);
}
/** Nothing of a transaction stays but by its end. */
function statementRan(self: unknown): void {
  const { database, readonly, source } = self as Database.Statement;
  if (!database.inTransaction && (!readonly || source === 'COMMIT')) changed();
}
const database = new Database(':memory:');
const statements = Object.getPrototypeOf(database.prepare('SELECT 1')) as Database.Statement;
for (const name of ['run', 'get', 'all'] as const) watch(statements, name, statementRan);
database.close();

await (await Store.open(DataFolder.open(folder))).close();
fs.writeSync(1, String(changes));
