import { AsyncLocalStorage } from 'node:async_hooks';
import type Database from 'better-sqlite3';
import { AppError } from '../../base/errors.js';
import type { Turns } from '../../base/turns.js';
import type { Asking } from '../db.js';
import type { Value } from '../instruction.js';

/** Most statements that a connection keeps: those used longest ago go first. */
const MOST_KEPT = 300;

/** Has equal statements compiled once: for a short question that is half of its time. */
export class KeptStatements {
  private readonly kept = new Map<string, Database.Statement>();

  constructor(private readonly compile: (sql: string) => Database.Statement) {}

  get(sql: string): Database.Statement {
    const statement = this.kept.get(sql) ?? this.compile(sql);
    this.kept.delete(sql);
    this.kept.set(sql, statement);
    if (this.kept.size > MOST_KEPT) this.kept.delete(this.kept.keys().next().value!);
    return statement;
  }
}

/**
 * A connection that is asked our own questions, past the database client, which would take longer over a short one than the
 * engine does. Whole numbers come as numbers: the program stores none that these do not hold.
 */
export class Connection implements Asking {
  private readonly statements: KeptStatements;
  /** The change that asks for what runs now: the database client takes no such thing along with a question. */
  private readonly asking = new AsyncLocalStorage<Transacting>();

  /** @param turns that its questions take; none when absent. */
  constructor(
    readonly database: Database.Database,
    readonly turns?: Turns,
  ) {
    this.statements = new KeptStatements((sql) => database.prepare(sql));
  }

  async ask<Row>(question: string, values: readonly Value[]): Promise<Row[]> {
    const turn = this.turns?.next();
    if (turn) await turn;
    return this.statements.get(question).all(values) as Row[];
  }

  async tell(instruction: string, values: readonly Value[]): Promise<void> {
    this.statements.get(instruction).run(values);
  }

  /** Runs `work` in one transaction, whole or not at all. One at a time: the write door queues changes up. */
  async transaction<T>(work: (own: Transacting) => Promise<T>): Promise<T> {
    this.run('BEGIN');
    const own = new Transacting(this);
    try {
      const answer = await this.asking.run(own, () => work(own));
      this.run('COMMIT');
      return answer;
    } catch (error) {
      // A full disk ends it by itself.
      if (this.database.inTransaction) this.run('ROLLBACK');
      throw error;
    } finally {
      own.end();
    }
  }

  /**
   * Of a question that comes through the database client, which may have thought about it for long.
   * @throws AppError UNEXPECTED on the writing connection, unless the change that asked it is under way.
   */
  refuseStray(): void {
    if (this.database.readonly) return;
    const own = this.asking.getStore();
    if (own === undefined) throw new AppError('UNEXPECTED', 'the database was to be changed outside a change');
    own.refuseEnded();
  }

  close(): void {
    // Every promise of the process looks at every storage that is still on.
    this.asking.disable();
    this.database.close();
  }

  private run(statement: string): void {
    this.statements.get(statement).run();
  }
}

/** A connection while a transaction is open on it. What is asked through it later would stand outside, and is refused. */
export class Transacting implements Asking {
  private hasEnded = false;

  constructor(private readonly connection: Connection) {}

  async ask<Row>(question: string, values: readonly Value[]): Promise<Row[]> {
    this.refuseEnded();
    return this.connection.ask(question, values);
  }

  async tell(instruction: string, values: readonly Value[]): Promise<void> {
    this.refuseEnded();
    await this.connection.tell(instruction, values);
  }

  /** @throws AppError UNEXPECTED once the transaction is over, also where the engine ended it, as at a full disk. */
  refuseEnded(): void {
    if (this.hasEnded || !this.connection.database.inTransaction)
      throw new AppError('UNEXPECTED', 'the database was asked inside a change that is over');
  }

  end(): void {
    this.hasEnded = true;
  }
}
