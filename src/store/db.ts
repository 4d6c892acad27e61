import type { Prisma } from './generated/client.js';
import type { Instruction, Question, Value } from './instruction.js';
import type { Questions } from './questions.js';

/** How an engine is asked in its own words. */
export interface Asking {
  ask<Row>(question: string, values: readonly Value[]): Promise<Row[]>;
  /** What fails later ends the change all the same: an engine may take several instructions before it answers the first. */
  tell(instruction: string, values: readonly Value[]): Promise<void>;
}

/**
 * One side of a database: the reading connection, or a change under way. Repositories know no engine but this.
 * `R` is a `Recorder` inside a change. Whatever stores something asks for it in its type, and so compiles nowhere else.
 */
export class Db<R = unknown> {
  /** @param client for what is seldom asked: it takes several times as long, and is loaded by the first that asks it. */
  constructor(
    readonly client: () => Promise<Prisma.TransactionClient>,
    readonly sql: Questions,
    readonly recorder: R,
    private readonly asking: Asking,
  ) {}

  /** The same side, for what stores. */
  recordingBy<Other>(recorder: Other): Db<Other> {
    return new Db(this.client, this.sql, recorder, this.asking);
  }

  ask<Values extends readonly Value[], Row>(question: Question<Values, Row>, ...values: Values): Promise<Row[]> {
    return this.asking.ask(question, values);
  }

  tell<Values extends readonly Value[]>(instruction: Instruction<Values>, ...values: Values): Promise<void> {
    return this.asking.tell(instruction, values);
  }
}
