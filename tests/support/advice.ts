import { everyUnit } from '../../src/assessment/plans/every-unit.js';
import { CHECK_PHRASES } from '../../src/report/phrases/checks/catalogue.js';
import type { Told, Words } from '../../src/report/phrases/phrase.js';
import { characteristic, sampleOf } from './characteristics.js';

/** What a rule of a check says and advises, and facts with which it does. */
export interface Advice extends Words {
  readonly check: string;
  readonly rule: string;
  readonly facts: Readonly<Record<string, string>>;
}

const json = (value: unknown): string => JSON.stringify(value);
const ITEM = characteristic({ lower: '215' });
const FAULT = json({ code: 'not in the lot file', facts: { validation: 'PV' } });

/** Facts that hold more than a word, by their names; one may hold several things. */
const SAMPLES: Readonly<Record<string, readonly string[]>> = {
  fault: [FAULT],
  need: ['udi'],
  lacks: ['uncertainty'],
  judged: [json({ why: { code: 'missing', facts: {} }, compared: '' })],
  computed: [json([{ low: 1, high: 2, uncertainty: 0 }])],
  asked: [json(ITEM)],
  what: ['scrap'],
  property: ['bond'],
  missing: [json({ found: 0, missing: 1, rows: [], leftOut: [] })],
  plan: [json(everyUnit(sampleOf(ITEM, ['1'])))],
};
const ANY = ['1', '[]', json([['a', 'b']]), '{}', '2031-03-05T09:00:00+01:00'];
const MOST_TRIES = 200;

/**
 * Every rule of every release check in words, so that whatever they advise can be followed. Each fact that a phrase asks for
 * is tried out until the phrase can read it.
 */
export const everyAdvice = (): Advice[] =>
  Object.entries(CHECK_PHRASES).flatMap(([check, { rules }]) =>
    Object.entries(rules).map(([rule, phrase]) => ({ check, rule, ...adviceOf(phrase) })),
  );

function adviceOf(phrase: (told: Told) => Words) {
  const facts: Record<string, string> = {};
  const tried: Record<string, number> = {};
  let last = '';
  const valuesOf = (name: string) => [...(SAMPLES[name] ?? []), ...ANY];
  const value = (name: string): string => {
    last = name;
    facts[name] ??= valuesOf(name)[0]!;
    return facts[name];
  };
  const told = new Proxy({} as Told, {
    get: (_, name) => value(String(name)),
    getOwnPropertyDescriptor: (_, name) => ({ value: value(String(name)), configurable: true, enumerable: true }),
  });
  for (let tries = 0; ; tries++) {
    try {
      return { ...phrase(told), facts };
    } catch (error) {
      tried[last] = (tried[last] ?? 0) + 1;
      const next = valuesOf(last)[tried[last]!];
      if (next === undefined || tries > MOST_TRIES) throw error;
      facts[last] = next;
    }
  }
}
