/**
 * Keeps what was read from texts, frozen: the same text is read again and again, and always says the same. What was read
 * longest ago goes first. What cannot be read is not kept.
 */
export class ReadOnce<T> {
  private readonly kept = new Map<string, T>();

  /** @param most that are kept. */
  constructor(private readonly most: number) {}

  of(text: string, read: () => T): T {
    const found = this.kept.get(text) ?? frozen(read());
    this.kept.delete(text);
    this.kept.set(text, found);
    if (this.kept.size > this.most) this.kept.delete(this.kept.keys().next().value!);
    return found;
  }
}

function frozen<T>(value: T): T {
  if (value === null || typeof value !== 'object') return value;
  for (const inner of Object.values(value)) frozen(inner);
  return Object.freeze(value);
}
