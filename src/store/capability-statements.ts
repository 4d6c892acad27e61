import { sha256Hex } from '../dossier/canonical.js';
import type { Db } from './db.js';
import type { Recorder } from './recorder.js';

export interface NewCapabilityStatement {
  readonly family: string;
  readonly characteristic: string;
  readonly number: number;
  readonly plan: string;
  readonly planRevision: number;
  /** Canonical JSON. */
  readonly body: string;
}

/** By what a statement is named and signed. */
export type StatedName = Pick<NewCapabilityStatement, 'family' | 'characteristic' | 'number'> & {
  readonly digest: string;
};

/** What was stated of the capability of families, numbered for each characteristic. */
export class CapabilityStatements<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** Of a characteristic of a family, oldest first. */
  of(family: string, characteristic: string) {
    return this.db.ask(this.db.sql.STATEMENTS_OF, family, characteristic);
  }

  /** The last ones, latest first. */
  last(family: string, characteristic: string, most: number) {
    return this.db.ask(this.db.sql.LAST_STATEMENTS, family, characteristic, most);
  }

  /** The last one, or null before the first. */
  async latest(family: string, characteristic: string) {
    return (await this.last(family, characteristic, 1))[0] ?? null;
  }

  /** The last one of every family and characteristic, by its name alone. */
  async latestOfAll(): Promise<StatedName[]> {
    const all = await this.db.ask(this.db.sql.STATEMENT_NAMES);
    return [...new Map(all.map((one) => [`${one.family} ${one.characteristic}`, one])).values()];
  }

  /** One by its number, or null. */
  async numbered(family: string, characteristic: string, number: number) {
    return (await this.db.ask(this.db.sql.STATEMENT, family, characteristic, number))[0] ?? null;
  }

  async add(this: CapabilityStatements<Recorder>, statement: NewCapabilityStatement): Promise<string> {
    const { family, characteristic, number } = statement;
    const digest = sha256Hex(statement.body);
    await this.db.recorder.record(
      { type: 'capability-stated', family, characteristic, number, digest },
      { CapabilityStatement: [{ ...statement, digest }] },
    );
    return digest;
  }
}
