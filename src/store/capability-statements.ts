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
    return this.db.client.capabilityStatement.findMany({
      where: { family, characteristic },
      orderBy: { number: 'asc' },
    });
  }

  /** The last ones, latest first. */
  last(family: string, characteristic: string, most: number) {
    return this.db.client.capabilityStatement.findMany({
      where: { family, characteristic },
      orderBy: { number: 'desc' },
      take: most,
    });
  }

  /** The last one, or null before the first. */
  latest(family: string, characteristic: string) {
    return this.db.client.capabilityStatement.findFirst({
      where: { family, characteristic },
      orderBy: { number: 'desc' },
    });
  }

  /** The last one of every family and characteristic, by its name alone. */
  async latestOfAll(): Promise<StatedName[]> {
    const all = await this.db.client.capabilityStatement.findMany({
      select: { family: true, characteristic: true, number: true, digest: true },
      orderBy: [{ family: 'asc' }, { characteristic: 'asc' }, { number: 'asc' }],
    });
    return [...new Map(all.map((one) => [`${one.family} ${one.characteristic}`, one])).values()];
  }

  /** One by its number, or null. */
  numbered(family: string, characteristic: string, number: number) {
    return this.db.client.capabilityStatement.findUnique({
      where: { family_characteristic_number: { family, characteristic, number } },
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
