import type { Prisma } from './generated/client.js';
import type { Instruction, Question, Questions } from './questions.js';

/**
 * One side of a database: the reading connection, or a change under way. Repositories know no engine but this.
 * `R` is a `Recorder` inside a change. Whatever stores something asks for it in its type, and so compiles nowhere else.
 */
export class Db<R = unknown> {
  constructor(
    readonly client: Prisma.TransactionClient,
    readonly sql: Questions,
    readonly recorder: R,
  ) {}

  ask<Values extends readonly (string | number)[], Row>(
    question: Question<Values, Row>,
    ...values: Values
  ): Promise<Row[]> {
    return this.client.$queryRawUnsafe<Row[]>(question, ...values);
  }

  async tell<Values extends readonly (string | number)[]>(
    instruction: Instruction<Values>,
    ...values: Values
  ): Promise<void> {
    await this.client.$executeRawUnsafe(instruction, ...values);
  }
}
