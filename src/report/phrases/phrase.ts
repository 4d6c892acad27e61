import { z } from 'zod';
import type { FactName } from '../../assessment/checks/fact-name.js';
import { Characteristic } from '../../kinds/specification.js';

/** Words cannot be made of these facts: they lack one, or hold a code that no phrase knows. An earlier version told them. */
export class NoWords extends Error {
  /** @param what is lacking or not known, by its name. */
  constructor(readonly what: string) {
    super(`no words for ${what}`);
    this.name = 'NoWords';
  }
}

/**
 * The facts of a finding, or of what a check looked at, by name. Reading one that was not told throws NoWords; what only
 * some findings tell is asked by `ifTold`.
 */
export type Told = Readonly<Record<FactName, string>>;

/** What is wrong, for the person who must clear it, and who that is. */
export interface Words {
  readonly says: string;
  readonly clearedBy: string;
}

export type Phrase = (facts: Told) => Words;

/** Every sentence about one release check. */
export interface CheckPhrases {
  readonly title: string;
  /** What it asks. */
  readonly asks: string;
  /** How somebody without this program comes to the same, in one exact paragraph: the note in each record carries it. */
  readonly recompute: string;
  /** What it looked at: printed when it passes. */
  readonly basis: (facts: Told) => string;
  /** Why it does not apply to a lot, for a check to which that can happen. */
  readonly doesNotApply?: string;
  readonly rules: Readonly<Record<string, Phrase>>;
  /** For rules that stand elsewhere, as those of the log scanner do. */
  readonly otherRule?: (facts: Told, rule: string) => Words;
}

/** For what nobody can undo any more: the only way out for the units that it touches. */
export const CONCEDE =
  'Process and quality engineer: open a nonconformity with this finding and sign a concession in it, with clause and justification; units may go then, and their verdict stays.';

/** @param facts as they were stored, by whatever version. */
export function toldBy<Name extends string>(facts: Readonly<Record<string, string>>): Readonly<Record<Name, string>> {
  return new Proxy(facts, {
    get: (all, name) => {
      if (Object.hasOwn(all, name)) return Reflect.get(all, name);
      throw new NoWords(`a finding without the fact "${String(name)}"`);
    },
  });
}

/** A fact that only some findings tell. */
export const ifTold = (facts: Told, name: FactName): string | undefined =>
  Object.hasOwn(facts, name) ? facts[name] : undefined;

/** @throws NoWords naming the code when the table does not know it. */
export function wordsOf<T>(table: Readonly<Record<string, T>>, code: string): T {
  if (Object.hasOwn(table, code)) return table[code]!;
  throw new NoWords(`the code "${code}"`);
}

/**
 * What a fact holds as JSON.
 * @throws NoWords when it is of another form.
 */
export function readFact<T>(schema: z.ZodType<T>, fact: string): T {
  try {
    return schema.parse(JSON.parse(fact));
  } catch {
    throw new NoWords(`the fact ${fact.slice(0, 80)}`);
  }
}

/** The characteristic as the specification asks for it. */
export const askedOf = ({ asked }: Told): Characteristic => readFact(Characteristic, asked);

/** Lists that facts hold. */
export const PAIRS = z.array(z.tuple([z.string(), z.string()]));
export const LAYERS = z.array(z.strictObject({ from: z.int(), to: z.int() }));
