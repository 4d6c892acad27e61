/** The given fields without those that are undefined: a quantity that does not exist is absent from an answer. */
export function present<T extends object>(fields: T): { [K in keyof T]?: Exclude<T[K], undefined> } {
  const kept = Object.entries(fields).filter(([, value]) => value !== undefined);
  return Object.fromEntries(kept) as { [K in keyof T]?: Exclude<T[K], undefined> };
}

/** The notes whose condition holds, in order. */
export function notesWhere(...candidates: ReadonlyArray<readonly [boolean, string]>): string[] {
  return candidates.filter(([holds]) => holds).map(([, note]) => note);
}
