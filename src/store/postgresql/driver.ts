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
import type { Asking } from '../db.js';
import type { Value as Given } from '../instruction.js';
import { type Connections, unlessForgotten, watchLoss } from './connection.js';
import { asReached, CONNECTION_LOST, isAway, OUTCOME_UNKNOWN } from './reached.js';

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

/** Without values the library would have the server plan it each time. */
const AS_PREPARED = { prepare: true, simple: false };

/** What the database client asks, on connections that it shares or on the one of a transaction. */
class Asked implements SqlQueryable, Asking {
  readonly provider = 'postgres';
  readonly adapterName = NAME;

  constructor(protected readonly on: Pick<Connections, 'unsafe'>) {}

  /** Questions of ours go past the client, which would take longer over a short one than the server does. */
  async ask<Row>(question: string, given: readonly Given[]): Promise<Row[]> {
    return Array.from(await this.asIs(question, given.map(askable))) as Row[];
  }

  async tell(instruction: string, given: readonly Given[]): Promise<void> {
    await this.asIs(instruction, given);
  }

  protected asIs(text: string, given: readonly Given[]) {
    return this.run(() => this.on.unsafe(text, given as Given[], AS_PREPARED));
  }

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
      return await this.answerTo(ask());
    } catch (error) {
      throw this.inWords(asOfDriver(error));
    }
  }

  protected answerTo<T>(question: PromiseLike<T>): PromiseLike<T> {
    return question;
  }

  /** Outside a transaction nobody tries again. */
  protected inWords(error: unknown): unknown {
    return asReached(error);
  }
}

/** Whether the way to the server failed, and not what was asked. */
const isOfTheWay = (error: unknown): boolean =>
  !(error instanceof DriverAdapterError) && /^(?:E[A-Z]|CONNECT)/.test((error as { code?: string }).code ?? '');

/** Has one connection for itself, on which everything is refused once it is lost: with it the transaction is. */
class Transacting extends Asked implements Transaction {
  /** The client says itself when it begins and ends. */
  readonly options = { usePhantomQuery: false };
  private isLost = false;
  private isEnding = false;
  /** Of each question that waits for its answer: a client may ask several at once. */
  private readonly waiting = new Set<(error: unknown) => void>();
  private readonly stop: () => void;
  /** Instructions whose answers are still awaited, and why the first of those failed that did. */
  private readonly told: Promise<void>[] = [];
  private failed: { readonly why: unknown } | undefined;

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

  /** The next one need not wait for the answer: the server takes them in their order, and none behind one that fails. */
  override async tell(instruction: string, given: readonly Given[]): Promise<void> {
    const answer = this.asIs(instruction, given).then(
      () => undefined,
      (why: unknown) => {
        this.failed ??= { why };
      },
    );
    this.told.push(answer);
  }

  /** @throws as the first of the instructions that failed: those behind it fail for that alone. */
  async settled(): Promise<void> {
    await Promise.all(this.told);
    if (this.failed) throw this.failed.why;
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
    } catch (error) {
      if (!isOfTheWay(error)) throw error;
      this.isLost = true;
      throw this.loss();
    } finally {
      this.waiting.delete(lose);
    }
  }

  protected override inWords(error: unknown): unknown {
    return error;
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

/** Asks on whichever connection is free. */
class AskedOnAny extends Asked {
  constructor(protected readonly connections: Connections) {
    super(connections);
  }

  protected override answerTo<T>(question: PromiseLike<T>): PromiseLike<T> {
    return unlessForgotten(this.connections, question);
  }
}

class Driver extends AskedOnAny implements SqlDriverAdapter {
  /** A connection was there when it was last heard of. */
  private isThere = false;

  constructor(
    connections: Connections,
    private readonly begun: (transaction: Transacting) => void,
  ) {
    super(connections);
    watchLoss(connections, () => {
      this.isThere = false;
    });
  }

  async executeScript(script: string): Promise<void> {
    await this.run(() => this.connections.unsafe(script).simple());
  }

  async startTransaction(): Promise<Transaction> {
    const own = await this.reserved().catch((error: unknown) => {
      throw asOfDriver(error);
    });
    const transaction = new Transacting(own, this.connections);
    try {
      await transaction.executeRaw({ sql: 'BEGIN', args: [], argTypes: [] });
      this.begun(transaction);
      return transaction;
    } catch (error) {
      this.isThere = false;
      await transaction.rollback();
      throw error;
    }
  }

  /**
   * The library hands out a connection that is open, and lets whoever wishes for one that it has to open anew wait for ever.
   * So one is opened by a question first.
   */
  private async reserved(): Promise<postgres.ReservedSql> {
    const question = () => this.answerTo(this.connections.unsafe('SELECT 1'));
    if (!this.isThere) {
      // One that is about to close tells so once; the next question opens another.
      await question().then(undefined, (error: unknown) => {
        if (!isAway(error)) throw error;
        return question();
      });
    }
    this.isThere = true;
    return this.connections.reserve();
  }

  getConnectionInfo() {
    return { schemaName: 'public', supportsRelationJoins: false };
  }

  /** Whoever opened the connections closes them. */
  async dispose(): Promise<void> {}
}

/** Lets the database client ask by connections of ours: no further library stands between. */
export class DriverOver implements SqlDriverAdapterFactory {
  readonly provider = 'postgres';
  readonly adapterName = NAME;
  /** The transaction that began last: the only one, where there is one connection. */
  transaction: Transacting | undefined;

  constructor(private readonly connections: Connections) {}

  async connect(): Promise<SqlDriverAdapter> {
    return new Driver(this.connections, (transaction) => {
      this.transaction = transaction;
    });
  }
}

/** Asks past the client. */
export const askingOn = (connections: Connections): Asking => new AskedOnAny(connections);

/** In JSON: number 0, and halves of a pair that stand alone. An even number of backslashes before it are text. */
const UNASKABLE = /(?<!\\)((?:\\\\)*)\\u(?:0000|d[89a-f][0-9a-f]{2})/g;

/** No text in the database holds number 0, and the engine refuses to be asked for it: what stands for it is found nowhere. */
const askable = (value: Given): Given =>
  typeof value === 'string' ? value.replaceAll('\0', '\ufffd').replace(UNASKABLE, '$1\\ufffd') : value;

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
