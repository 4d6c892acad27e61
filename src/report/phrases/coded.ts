/** Words by code, each made of the facts that its code carries. */
type CodedWords = Readonly<Record<string, (facts: never) => string>>;

/** A code of a table of words, with the facts that its words need. */
export type CodedBy<Table extends CodedWords> = {
  [Code in keyof Table]: { readonly code: Code } & (Parameters<Table[Code]> extends [infer Facts]
    ? { readonly facts: Facts }
    : { readonly facts?: undefined });
}[keyof Table];

export function codedText<Table extends CodedWords>(table: Table, { code, facts }: CodedBy<Table>): string {
  const words = table[code] as (facts: unknown) => string;
  return words(facts);
}

/** Codes that are words, by one table. One that another version wrote, and this one does not know, is shown as it is. */
export const textBy =
  (table: Readonly<Record<string, string>>) =>
  (code: string): string =>
    Object.hasOwn(table, code) ? table[code]! : code;
