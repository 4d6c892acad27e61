/** What a question or an instruction takes. */
export type Value = string | number | null;

/** A question in the words of an engine: the values that it takes, in their order, and a row of its answer. */
export type Question<Values extends readonly Value[], Row> = string & {
  readonly asks?: Values;
  readonly answers?: Row;
};

/** What an engine is told to store, in its words: the values that it takes, in their order. It has no answer. */
export type Instruction<Values extends readonly Value[]> = string & { readonly takes?: Values };

/**
 * Many things as one value, a JSON list: as values of a statement they would end at 998 (the database client), or where
 * the engine ends.
 */
export type Listed = string;
