import {
  type ArgType,
  type ColumnType,
  ColumnTypeEnum,
  DriverAdapterError,
  type SqlDriverAdapter,
  type SqlDriverAdapterFactory,
  type SqlQuery,
  type SqlQueryable,
  type SqlResultSet,
  type Transaction,
} from '@prisma/driver-adapter-utils';
import postgres from 'postgres';
import { type Connections, watchLoss } from './connection.js';

const NAME = 'lotwright-postgresql';

/** By the numbers that the engine gives to its types. */
const TYPES: Readonly<Record<number, ColumnType>> = {
  16: ColumnTypeEnum.Boolean,
  17: ColumnTypeEnum.Bytes,
  // They come as numbers, as long as these hold them (connection.ts).
  20: ColumnTypeEnum.Int32,
  23: ColumnTypeEnum.Int32,
  701: ColumnTypeEnum.Double,
  1700: ColumnTypeEnum.Numeric,
};

type Value = Parameters<Connections['unsafe']>[1] extends (infer V)[] | undefined ? V : never;

/** What the database client asks, on connections that it shares or on the one of a transaction. */
class Asking implements SqlQueryable {
  readonly provider = 'postgres';
  readonly adapterName = NAME;

  constructor(protected readonly on: Pick<Connections, 'unsafe'>) {}

  async queryRaw({ sql, args, argTypes }: SqlQuery): Promise<SqlResultSet> {
    const rows = await this.run(() => this.on.unsafe(sql, values(args, argTypes), { prepare: true }).values());
    const columns = rows.columns ?? [];
    return {
      columnNames: columns.map(({ name }) => name),
      columnTypes: columns.map(({ type }) => TYPES[type] ?? ColumnTypeEnum.Text),
      rows: rows as unknown[][],
    };
  }

  async executeRaw({ sql, args, argTypes }: SqlQuery): Promise<number> {
    return (await this.run(() => this.on.unsafe(sql, values(args, argTypes), { prepare: true }))).count;
  }

  protected async run<T>(ask: () => PromiseLike<T>): Promise<T> {
    try {
      return await ask();
    } catch (error) {
      throw asOfDriver(error);
    }
  }
}

/** States of the standard: the connection was lost, and so was the word whether the transaction was stored. */
export const CONNECTION_LOST = '08006';
export const OUTCOME_UNKNOWN = '08007';

/** Has one connection for itself, on which everything is refused once it is lost: with it the transaction is. */
class Transacting extends Asking implements Transaction {
  /** The client says itself when it begins and ends. */
  readonly options = { usePhantomQuery: false };
  private isLost = false;
  private isEnding = false;
  /** Of each question that waits for its answer: a client may ask several at once. */
  private readonly waiting = new Set<(error: unknown) => void>();
  private readonly stop: () => void;

  constructor(
    private readonly own: postgres.ReservedSql,
    connections: Connections,
  ) {
    super(own);
    this.stop = watchLoss(connections, () => {
      this.isLost = true;
      for (const lose of this.waiting) lose(this.loss());
    });
  }

  override executeRaw(query: SqlQuery): Promise<number> {
    this.isEnding ||= query.sql === 'COMMIT';
    return super.executeRaw(query);
  }

  protected override async run<T>(ask: () => PromiseLike<T>): Promise<T> {
    if (this.isLost) throw this.loss();
    let lose!: (error: unknown) => void;
    const loss = new Promise<never>((_resolve, reject) => {
      lose = reject;
    });
    this.waiting.add(lose);
    try {
      return await Promise.race([super.run(ask), loss]);
    } finally {
      this.waiting.delete(lose);
    }
  }

  private loss(): DriverAdapterError {
    return failure(this.isEnding ? OUTCOME_UNKNOWN : CONNECTION_LOST, 'CONNECTION_LOST');
  }

  async commit(): Promise<void> {
    this.end();
  }

  async rollback(): Promise<void> {
    this.end();
  }

  /** A lost connection is opened anew by whoever needs one next. */
  private end(): void {
    this.stop();
    if (!this.isLost) this.own.release();
  }
}

class Driver extends Asking implements SqlDriverAdapter {
  constructor(private readonly connections: Connections) {
    super(connections);
  }

  async executeScript(script: string): Promise<void> {
    await this.run(() => this.connections.unsafe(script).simple());
  }

  async startTransaction(): Promise<Transaction> {
    const own = await this.run(() => this.connections.reserve());
    const transaction = new Transacting(own, this.connections);
    try {
      await transaction.executeRaw({ sql: 'BEGIN', args: [], argTypes: [] });
      return transaction;
    } catch (error) {
      await transaction.rollback();
      throw error;
    }
  }

  getConnectionInfo() {
    return { schemaName: 'public', supportsRelationJoins: false };
  }

  /** Whoever opened the connections closes them. */
  async dispose(): Promise<void> {}
}

/** Lets the database client ask by connections of ours: no further library stands between. */
export const driverOver = (connections: Connections): SqlDriverAdapterFactory => ({
  provider: 'postgres',
  adapterName: NAME,
  connect: async () => new Driver(connections),
});

/** Bytes come as text from the client where it wrote them into its plan. */
const values = (args: readonly unknown[], types: readonly ArgType[]): Value[] =>
  args.map((value, place) =>
    typeof value === 'string' && types[place]?.scalarType === 'bytes' ? Buffer.from(value, 'base64') : value,
  ) as Value[];

function asOfDriver(error: unknown): unknown {
  if (!(error instanceof postgres.PostgresError)) return error;
  const { code, message, severity, detail, column_name: column, hint } = error;
  return failure(code, message, { severity, detail, column, hint });
}

function failure(code: string, message: string, more: Partial<Told> = {}): DriverAdapterError {
  const told: Told = { severity: 'ERROR', detail: undefined, column: undefined, hint: undefined, ...more };
  return new DriverAdapterError({
    originalCode: code,
    originalMessage: message,
    kind: 'postgres',
    code,
    message,
    ...told,
  });
}

/** What the engine says beside code and message. */
interface Told {
  readonly severity: string;
  readonly detail: string | undefined;
  readonly column: string | undefined;
  readonly hint: string | undefined;
}
