import type { Prisma } from './generated/client.js';
import type { SQLITE } from './sqlite/statements.js';

/** The statements of an engine. */
export type Sql = typeof SQLITE;

/**
 * One side of a database: the reading connection, or a change under way. Repositories know no engine but this.
 * `R` is a `Recorder` inside a change. Whatever stores something asks for it in its type, and so compiles nowhere else.
 */
export class Db<R = unknown> {
  constructor(
    readonly client: Prisma.TransactionClient,
    readonly sql: Sql,
    readonly recorder: R,
  ) {}

  ask<Row>(statement: string, ...values: readonly (string | number)[]): Promise<Row[]> {
    return this.client.$queryRawUnsafe<Row[]>(statement, ...values);
  }
}
