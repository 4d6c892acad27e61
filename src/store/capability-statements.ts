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

/** What was stated of the capability of families, numbered for each characteristic. */
export class CapabilityStatements<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** Of a characteristic of a family, oldest first. */
  of(family: string, characteristic: string) {
    return this.db.client.capabilityStatement.findMany({
      where: { family, characteristic },
      orderBy: { number: 'asc' },
    });
  }

  /** The last one, or null before the first. */
  latest(family: string, characteristic: string) {
    return this.db.client.capabilityStatement.findFirst({
      where: { family, characteristic },
      orderBy: { number: 'desc' },
    });
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
