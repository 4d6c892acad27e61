import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import type Database from 'better-sqlite3';
import { AppError } from '../../base/errors.js';
import type { Turns } from '../../base/turns.js';

/** Most statements that a connection keeps: those used longest ago go first. */
const MOST_KEPT = 300;

type Adapter = Awaited<ReturnType<PrismaBetterSqlite3['connect']>>;
type Values = unknown[];

/**
 * The driver has SQLite compile each statement each time, though the program asks the same few hundred again and again:
 * for a short question that was half of its time. Here each is compiled once for a connection.
 */
export class KeepingDriver extends PrismaBetterSqlite3 {
  /** @param turns that its questions take; none when absent. */
  constructor(
    options: ConstructorParameters<typeof PrismaBetterSqlite3>[0],
    private readonly turns?: Turns,
  ) {
    super(options);
  }

  override async connect(): Promise<Adapter> {
    const adapter = await super.connect();
    const { client } = adapter as Adapter & { readonly client?: Database.Database };
    if (!client) throw new AppError('UNEXPECTED', 'the database driver shows its connection no more');
    keepStatements(client);
    if (this.turns) takeTurns(adapter, this.turns);
    return adapter;
  }
}

function takeTurns(adapter: Adapter, turns: Turns): void {
  const ask = adapter.queryRaw.bind(adapter);
  adapter.queryRaw = (question) => {
    const turn = turns.next();
    return turn === undefined ? ask(question) : turn.then(() => ask(question));
  };
}

/** Has a connection compile equal statements once. The driver gives values by `bind`, which a statement takes once. */
function keepStatements(connection: Database.Database): void {
  const compile = connection.prepare.bind(connection);
  const kept = new Map<string, Database.Statement>();
  const prepare = (sql: string) => {
    const statement = kept.get(sql) ?? compile(sql);
    kept.delete(sql);
    kept.set(sql, statement);
    if (kept.size > MOST_KEPT) kept.delete(kept.keys().next().value!);
    return { run: () => statement.run(), bind: (values: Values) => withValues(statement, values) };
  };
  connection.prepare = prepare as unknown as typeof connection.prepare;
}

/** What the driver uses of a statement that has its values. */
const withValues = (statement: Database.Statement, values: Values) => ({
  reader: statement.reader,
  run: () => statement.run(values),
  columns: () => statement.columns(),
  raw: () => ({ all: () => statement.raw().all(values) }),
});
