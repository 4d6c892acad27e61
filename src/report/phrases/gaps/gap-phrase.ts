/** Words on one rule of design histories: what it is called, what it asks, what a gap says, and what ends it. */
export interface GapPhrase {
  readonly title: string;
  readonly asks: string;
  readonly says: (facts: Readonly<Record<string, string>>) => string;
  readonly remedy: string;
}

/** A list that may be empty, behind a word on it. */
export const listed = (items: string | undefined, some: string, none: string): string =>
  items === undefined || items === '' ? none : `${some} ${items}`;
