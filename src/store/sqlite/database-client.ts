import { setFlagsFromString } from 'node:v8';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import type Database from 'better-sqlite3';
import { AppError } from '../../base/errors.js';
import { PrismaClient } from '../generated/client.js';
import { type Connection, KeptStatements } from './connection.js';

/**
 * The client brings its query planner as WebAssembly. V8 compiles its busier functions a second time to make them faster.
 * That takes half a second of a command, 50 MB of a service at rest, and nothing measurable off a page, so it waits much
 * longer here.
 */
const WITHOUT_SECOND_COMPILATION = '--wasm-tiering-budget=180000000';

/** The database client over a connection of ours: inside a change it asks within the transaction that is open there. */
export function clientOver(connection: Connection): PrismaClient {
  setFlagsFromString(WITHOUT_SECOND_COMPILATION);
  return new PrismaClient({ adapter: new DriverOver(connection) });
}

type Adapter = Awaited<ReturnType<PrismaBetterSqlite3['connect']>>;
type Values = unknown[];

/** The driver of the client opens connections by itself only. So it opens one on nothing, and is given ours in its place. */
class DriverOver extends PrismaBetterSqlite3 {
  constructor(private readonly connection: Connection) {
    super({ url: ':memory:' });
  }

  override async connect(): Promise<Adapter> {
    const { turns } = this.connection;
    const adapter = await super.connect();
    const own = adapter as { client?: Database.Database };
    if (!own.client) throw new AppError('UNEXPECTED', 'the database driver shows its connection no more');
    own.client.close();
    own.client = statementsOf(this.connection) as unknown as Database.Database;
    const ask = adapter.queryRaw.bind(adapter);
    adapter.queryRaw = (question) => {
      const turn = turns?.next();
      return turn === undefined ? ask(question) : turn.then(() => ask(question));
    };
    // Whoever opened the connection closes it, and begins and ends what is done as one.
    adapter.dispose = async () => {};
    adapter.startTransaction = async () => {
      throw new AppError('UNEXPECTED', 'the database client began a transaction of its own');
    };
    return adapter;
  }
}

/** What the driver uses of a connection. It gives values by `bind`, which a statement takes once, and wants big integers. */
function statementsOf(connection: Connection) {
  const statements = new KeptStatements((sql) => connection.database.prepare(sql).safeIntegers(true));
  return {
    prepare: (sql: string) => {
      const statement = statements.get(sql);
      return { bind: (values: Values) => withValues(statement, values, connection) };
    },
  };
}

/** What the driver uses of a statement that has its values. */
const withValues = (statement: Database.Statement, values: Values, connection: Connection) => ({
  reader: statement.reader,
  run: () => {
    connection.refuseStray();
    return statement.run(values);
  },
  columns: () => statement.columns(),
  raw: () => ({
    all: () => {
      connection.refuseStray();
      return statement.raw().all(values);
    },
  }),
});
