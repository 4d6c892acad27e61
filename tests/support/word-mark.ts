export const MARK = ' (worded anew)';

/** What an object that a function of phrases makes says in words; its other fields are codes and names. */
const WORDED_FIELDS = ['says', 'clearedBy'];

export type Table = Record<string, unknown>;

export const isTable = (value: unknown): value is Table => typeof value === 'object' && value !== null;

/** The form of a fact. */
export const isSchema = (value: unknown): boolean => isTable(value) && 'safeParse' in value;

/** What a function made of facts: a phrase, or an object with fields that say something. What else it may be holds no words. */
export function markedWords(made: unknown): unknown {
  if (typeof made === 'string') return marked(made);
  if (!isTable(made) || Array.isArray(made)) return made;
  const words = WORDED_FIELDS.filter((field) => Object.hasOwn(made, field));
  return { ...made, ...Object.fromEntries(words.map((field) => [field, marked(made[field])])) };
}

/** A phrase, or what a function makes of facts: a phrase, or an object of phrases. */
export function marked(value: unknown): unknown {
  if (typeof value === 'string') return value.endsWith(MARK) ? value : value + MARK;
  if (typeof value === 'function') return (...facts: unknown[]) => marked(value(...facts));
  if (Array.isArray(value)) return value.map(marked);
  if (isTable(value)) return Object.fromEntries(Object.entries(value).map(([name, one]) => [name, marked(one)]));
  return value;
}

/** Whatever a module of phrases exports, worded anew. A table stays the same object: others may have taken it before. */
export function markedExport<T>(exported: T): T {
  if (isSchema(exported)) return exported;
  if (typeof exported === 'function') return ((...facts: unknown[]) => markedWords(exported(...facts))) as T;
  if (isTable(exported) && !Array.isArray(exported)) return Object.assign(exported, marked(exported));
  return marked(exported) as T;
}
